"""From what was scanned to a lot: the code or the address of its label, or a photo of either."""

import re
from uuid import UUID

from django.http import HttpRequest
from django.middleware.csrf import get_token
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from records.batches.models import Lot
from records.batches.queries import similar_lot
from safetyplan.calculation.codes import parse_code
from safetyplan.establishments.models import Establishment
from safetyplan.integrity.pictures import opened
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, in_words
from safetyplan.printing import qr

ADDRESS = re.compile(r"/lots/([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})(?:/|$)")
LONG_SIDE = 2400
SCREEN_SIDE = 60.0
MOST_CODES = 8


def scan_block(request: HttpRequest, slug: str) -> dict[str, str]:
    """Give what static/js/scan-page.js needs: where lots are found and photos of codes are read."""
    return {
        "lot_find_url": reverse("lot_find", args=[slug]),
        "scan_url": reverse("scan", args=[slug]),
        "csrf": get_token(request),
    }


def lot_qr(address: str) -> SafeString:
    """Draw a lot's address as a QR code for the screen; empty where it is too long for one."""
    code = qr.symbol(address, SCREEN_SIDE)
    return mark_safe(qr.to_svg(code, _("QR code of this lot's address")) if code else "")


def lot_of_text(establishment: Establishment, text: str) -> Lot:
    """Find the lot that a label names, by address or code; letter case and O or 0, I or 1 do not matter."""
    tidy = clean(text, most=300, part="code")
    address = ADDRESS.search(tidy)
    found: Lot | None
    if address is not None:
        found = Lot.objects.of(establishment).filter(pk=UUID(address.group(1))).first()
    else:
        with in_words("code"):
            code = parse_code(tidy)
        found = similar_lot(establishment, code)
    if found is None:
        raise BadInput(_("No lot has the code %(code)s.") % {"code": tidy[:60]}, part="code")
    return found


def codes_in(content: bytes) -> list[str]:
    """Read the bar codes and QR codes in a photo, as text without control characters.

    Errors: BadInput for what is no photo within the limits of `pictures`, and when no code is seen.
    """
    import zxingcpp  # here: loading the reader takes time, and most pages never need it

    with opened(content) as image:
        image.draft("L", (LONG_SIDE, LONG_SIDE))
        try:
            plain = ImageOps.exif_transpose(image).convert("L")
        except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
            raise BadInput(_("This is not a whole JPEG, PNG or WebP picture."), part="photo") from error
    plain.thumbnail((LONG_SIDE, LONG_SIDE))
    texts = [_printable(code.text) for code in zxingcpp.read_barcodes(plain)]
    found = list(dict.fromkeys(text for text in texts if text))[:MOST_CODES]
    if not found:
        raise BadInput(
            _("No bar code or QR code is seen in this photo. Go nearer, hold still, avoid glare."),
            part="photo",
        )
    return found


def _printable(text: str) -> str:
    return "".join(c for c in text if c.isprintable()).strip()[:300]
