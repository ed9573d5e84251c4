"""Photos read and written anew: limits, forms, and nothing of the camera's left in the file.

Rows 63 and 64 of the bad inputs. EXIF tag numbers are those of the standard CIPA DC-008 (271 maker, 274
orientation, 34853 the pointer to the position), read here by another reader than the one under test.
"""

import struct
import zlib
from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from safetyplan.integrity import pictures
from safetyplan.integrity.pictures import LARGEST, read_picture, without_camera_data
from safetyplan.integrity.refusals import BadInput
from tests.builders import a_picture

MAKER, ORIENTATION, POSITION = 271, 274, 34853


def with_position(**more: int) -> bytes:
    """Paint a picture as a telephone saves it: with its maker and the place where it was taken."""
    exif = Image.Exif()
    exif[MAKER] = "Invented Telephone"
    exif[ORIENTATION] = more.get("orientation", 1)
    exif.get_ifd(POSITION)[1] = "N"
    exif.get_ifd(POSITION)[2] = (53.0, 20.0, 59.9)
    return a_picture(size=(60, 40), exif=exif)


def png_head(width: int, height: int) -> bytes:
    """Write a PNG that says it is so large and holds next to nothing (a bomb)."""
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + head
    whole = struct.pack(">I", 13) + chunk + struct.pack(">I", zlib.crc32(chunk))
    return b"\x89PNG\r\n\x1a\n" + whole + struct.pack(">I", 9) + b"IDAT" + zlib.compress(b"\0")


def size_of(content: bytes) -> tuple[int, int]:
    """Give the size of a picture."""
    return Image.open(BytesIO(content)).size


def test_nothing_of_the_camera_is_kept() -> None:
    sent = with_position()
    assert b"Invented Telephone" in sent
    kept = read_picture(sent)
    for written in (kept.content, kept.small):
        assert b"Exif" not in written
        assert b"Invented Telephone" not in written
        assert not Image.open(BytesIO(written)).getexif()


def test_what_somebody_hung_on_the_file_is_gone() -> None:
    kept = read_picture(a_picture() + b"<script>alert(1)</script>")
    assert b"script" not in kept.content


def test_a_picture_taken_sideways_is_turned_upright() -> None:
    # orientation 6: the camera was turned by a quarter (CIPA DC-008, table of the orientation tag)
    assert (read_picture(with_position(orientation=6)).width, size_of(with_position(orientation=6))) == (
        40,
        (60, 40),
    )


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_the_forms_that_telephones_write_become_jpeg(form: str) -> None:
    kept = read_picture(a_picture(form=form))
    assert Image.open(BytesIO(kept.content)).format == "JPEG"


def test_a_large_picture_is_made_smaller_and_keeps_its_shape() -> None:
    kept = read_picture(a_picture(size=(4000, 3000)))
    assert (kept.width, kept.height) == (2000, 1500)
    assert size_of(kept.small) == (480, 360)


def test_a_small_picture_keeps_its_size() -> None:
    assert size_of(read_picture(a_picture(size=(60, 40))).content) == (60, 40)


def test_what_is_transparent_becomes_white() -> None:
    output = BytesIO()
    Image.new("RGBA", (4, 4), (0, 0, 0, 0)).save(output, "PNG")
    kept: Any = Image.open(BytesIO(read_picture(output.getvalue()).content)).getpixel((0, 0))
    assert min(kept) >= 250


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"\0" * (LARGEST + 1), "10 MB"),
        (png_head(20_000, 10_000), "megapixels"),  # 200 MP
        (png_head(12_000, 9_000), "megapixels"),  # 108 MP, what a telephone may take
        (png_head(8_000, 6_251), "megapixels"),  # the smallest above 50 MP
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (b"\0\0\0\x18ftypavif\0\0\0\0mif1avif", "HEIC"),
        (b"not a picture", "not a whole"),
        (b"\xff\xd8\xff\xe0 cut off", "not a whole"),
        (a_picture(size=(400, 400))[:-900], "not a whole"),
        (b"%PDF-1.4 paper", "not a whole"),
        (b"GIF89a\x01\0\x01\0\0\0\0;", "not a whole"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a whole"),
    ],
)
def test_what_is_no_photo_is_refused_in_words(content: bytes, words: str) -> None:
    with pytest.raises(BadInput, match=words) as refusal:
        read_picture(content)
    assert refusal.value.part == "photo"


def test_exactly_fifty_megapixels_are_looked_at() -> None:
    assert pictures.MOST_PIXELS == 50_000_000
    with pytest.raises(BadInput, match="not a whole"):  # the head is let through; there is nothing behind it
        read_picture(png_head(8_000, 6_250))


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_a_picture_kept_as_a_file_loses_the_camera_and_keeps_its_size(form: str) -> None:
    exif = Image.Exif()
    exif[MAKER], exif[ORIENTATION] = "Invented Telephone", 6
    sent = a_picture(size=(60, 40), form=form, exif=exif)
    kept = without_camera_data(sent)
    assert b"Invented Telephone" in sent
    assert b"Invented Telephone" not in kept
    assert Image.open(BytesIO(kept)).format == form
    assert size_of(kept) == (40, 60)


@pytest.mark.parametrize("form", ["JPEG", "PNG"])
def test_a_picture_without_anything_hidden_is_kept_as_it_is(form: str) -> None:
    sent = a_picture(form=form)
    assert without_camera_data(sent) == sent


def test_a_text_hidden_in_a_png_is_gone_and_its_colours_stay() -> None:
    output, told = BytesIO(), PngInfo()
    told.add_text("Comment", "At the back door")
    Image.new("P", (4, 4), 3).save(output, "PNG", pnginfo=told)
    kept = without_camera_data(output.getvalue())
    assert b"back door" not in kept
    pictures_ = [Image.open(BytesIO(c)).convert("RGB").tobytes() for c in (output.getvalue(), kept)]
    assert pictures_[0] == pictures_[1]


def test_a_file_that_only_begins_as_a_picture_is_refused() -> None:
    with pytest.raises(BadInput, match="not a whole"):
        without_camera_data(b"\x89PNG\r\n\x1a\n")
