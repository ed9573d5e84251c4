"""Photos as evidence: read whole, turned upright, and written anew without anything but the picture.

Writing anew drops what a camera hides in the file (EXIF with place and device, colour profiles, previews),
and whatever else somebody may have put there. Limits: 10 MB and 50 megapixels (the project's own).
"""

import hashlib
from dataclasses import dataclass
from io import BytesIO

from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from safetyplan.integrity.refusals import BadInput

LARGEST = 10 * 1024 * 1024
MOST_PIXELS = 50_000_000
LONG_SIDE, SMALL_SIDE = 2000, 480
QUALITY, SMALL_QUALITY = 85, 80
FILE_QUALITY = 92
# What a file says of its picture that tells nothing of where, when and by what it was taken.
PLAIN = {"jfif", "jfif_version", "jfif_unit", "jfif_density", "dpi", "progressive", "progression", "gamma"}
PLAIN |= {"transparency", "aspect", "srgb", "interlace", "adobe", "adobe_transform"}
FORMATS = ("JPEG", "PNG", "WEBP")
HEIC_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"avif", b"avis")


@dataclass(frozen=True)
class Picture:
    """A photo ready to keep: the hash of what was sent, and the two sizes written anew as JPEG."""

    sent_sha256: str
    content: bytes
    small: bytes
    width: int
    height: int


def read_picture(content: bytes) -> Picture:
    """Read a photo and write it anew, upright, at most 2000 pixels long, and once at most 480 pixels long.

    Errors: BadInput with part "photo" for an empty or too large file, more than 50 megapixels, HEIC, and
    anything that is no whole JPEG, PNG or WebP picture.
    """
    with opened(content) as image:
        image.draft("RGB", (LONG_SIDE, LONG_SIDE))
        try:
            upright = ImageOps.exif_transpose(image)
            plain = _on_white(upright)
        except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
            raise _unreadable() from error
    plain.thumbnail((LONG_SIDE, LONG_SIDE))
    small = plain.copy()
    small.thumbnail((SMALL_SIDE, SMALL_SIDE))
    return Picture(
        sent_sha256=hashlib.sha256(content).hexdigest(),
        content=_jpeg(plain, QUALITY),
        small=_jpeg(small, SMALL_QUALITY),
        width=plain.width,
        height=plain.height,
    )


def opened(content: bytes) -> Image.Image:
    """Open a photo whose size is within the limits; only its head is read yet."""
    if not content:
        raise BadInput(_("The photo is empty. Take it again."), part="photo")
    if len(content) > LARGEST:
        raise BadInput(_("The photo is larger than 10 MB."), part="photo", status=413)
    if content[4:8] == b"ftyp" and content[8:12] in HEIC_BRANDS:
        raise BadInput(
            _(
                "This photo is in HEIC or AVIF form, which cannot be read here. Set the camera to JPEG "
                "(“most compatible”), or take a picture of the screen."
            ),
            part="photo",
        )
    try:
        image = Image.open(BytesIO(content), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise _too_many_pixels() from error
    except (OSError, ValueError, SyntaxError) as error:
        raise _unreadable() from error
    if image.width * image.height > MOST_PIXELS:
        raise _too_many_pixels()
    return image


def without_camera_data(content: bytes) -> bytes:
    """Give a JPEG or PNG file that holds the picture alone, as it is where nothing else was in it.

    Else it is written anew in its own format, upright and of the same size: a document stays readable.
    Errors: those of `read_picture`.
    """
    with opened(content) as image:
        form = str(image.format)
        try:
            image.load()
            if not image.getexif() and set(image.info) <= PLAIN:
                return content
            upright = ImageOps.exif_transpose(image)
        except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
            raise _unreadable() from error
    if form != "PNG":
        return _jpeg(_on_white(upright), FILE_QUALITY)
    output = BytesIO()
    shown = upright.convert("RGBA" if "transparency" in upright.info else upright.mode)
    plain = Image.frombytes(shown.mode, shown.size, shown.tobytes())
    if shown.palette:
        plain.putpalette(shown.palette)
    plain.save(output, "PNG")
    return output.getvalue()


def _on_white(image: Image.Image) -> Image.Image:
    """Give the picture in plain colours; what is transparent becomes white."""
    if image.mode in ("RGB", "L"):
        return image.convert("RGB")
    layered = image.convert("RGBA")
    plain = Image.new("RGB", layered.size, (255, 255, 255))
    plain.paste(layered, mask=layered.getchannel("A"))
    return plain


def _jpeg(image: Image.Image, quality: int) -> bytes:
    output = BytesIO()
    # A fresh picture of the pixels alone: nothing that came with the file is written again.
    Image.frombytes("RGB", image.size, image.tobytes()).save(output, "JPEG", quality=quality)
    return output.getvalue()


def _too_many_pixels() -> BadInput:
    return BadInput(
        _("The photo has more than 50 megapixels. Take it with a lower resolution."), part="photo"
    )


def _unreadable() -> BadInput:
    return BadInput(_("This is not a whole JPEG, PNG or WebP picture."), part="photo")
