"""Photos as devices send them: the bytes on their own, and the hashes by which claims name them."""

import hashlib
import re
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from records.photos.services import MOST_OF_ONE, receive_photo
from safetyplan.establishments.device_keys import signature_holds
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import live_credentials
from safetyplan.integrity.pictures import read_picture
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused

HASH = re.compile(r"[0-9a-f]{64}")


def named_in(content: Mapping[str, Any]) -> tuple[str, ...]:
    """Give the hashes of the photos that the content of a claim names."""
    named = content.get("photos", [])
    right = isinstance(named, list) and all(isinstance(n, str) and HASH.fullmatch(n) for n in named)
    if not right or len(set(named)) != len(named) or len(named) > MOST_OF_ONE:
        raise BadInput(_("The photos of this record are not named as they must be."), part="photos")
    return tuple(named)


def accept_file(
    *, establishment: Establishment, content: bytes, sha256: str, credential: str, signature: str
) -> bool:
    """Take a photo signed by the key of a person on a device; tell whether it was new."""
    try:
        pk = UUID(credential)
    except ValueError as error:
        raise Refused(_("A photo is sent with the key that signed it."), status=400) from error
    key = live_credentials(establishment).filter(pk=pk).select_related("person").first()
    if key is None:
        raise Refused(
            _("This device is not signed in for this person any more. Save again to sign it in."),
            part="credential",
        )
    if not signature_holds(key.public_key, content, signature):
        raise NotAllowed(_("The photo's signature does not match the device."), status=401)
    if hashlib.sha256(content).hexdigest() != sha256:
        raise BadInput(_("The photo arrived damaged: send it again."), part="photo")
    return receive_photo(establishment=establishment, by=key.person, picture=read_picture(content))
