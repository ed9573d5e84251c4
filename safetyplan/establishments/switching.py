"""Taking turns on a shared device: whoever gave their PIN there proves it with the device's key.

The PIN itself never leaves the device: it unlocks the person's key there. The server gives a number that is
good once; the device signs it with the key; the server checks that the key is still that person's and signs
the person in. Where a signature is asked for (sign-off, release), the password is still asked for.
"""

import logging
import secrets
from datetime import timedelta
from uuid import UUID

from django.contrib.auth import login, logout
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from safetyplan.establishments.access import membership_for
from safetyplan.establishments.device_keys import signature_holds
from safetyplan.establishments.models import Challenge, Credential, Establishment, Membership
from safetyplan.establishments.queries import live_credentials
from safetyplan.establishments.sign_in import BY_PIN, mark_session, one_line, said, sign_in_person
from safetyplan.integrity import canonical
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused

GOOD_FOR = timedelta(minutes=2)
MOST_OPEN = 200
PURPOSE = "take_turn"
log = logging.getLogger("safetyplan.security")


def new_challenge(establishment: Establishment) -> str:
    """Give a number that is good for one turn within two minutes; a flood of them is refused."""
    now = timezone.now()
    given = Challenge.objects.of(establishment)
    given.filter(made_at__lt=now - GOOD_FOR).delete()
    if given.count() >= MOST_OPEN:
        raise Refused(_("Too many tries at once. Wait two minutes, then try again."), status=429)
    nonce = secrets.token_urlsafe(32)
    Challenge.objects.create(establishment=establishment, nonce=nonce, made_at=now)
    return nonce


def use_up(establishment: Establishment, nonce: str) -> bool:
    """Use a number up; False when it was never given, was used before or is too old."""
    since = timezone.now() - GOOD_FOR
    fresh = Challenge.objects.of(establishment).filter(nonce=nonce[:64], made_at__gte=since)
    deleted, _by_table = fresh.delete()
    return deleted == 1


def signed_text(establishment: Establishment, credential: Credential, nonce: str) -> bytes:
    """Compose what the device signs to take a turn."""
    return canonical.dumps(
        {
            "v": 1,
            "purpose": PURPOSE,
            "establishment": str(establishment.pk),
            "person": str(credential.person_id),
            "device": str(credential.device),
            "nonce": nonce,
        }
    )


def take_turn(
    request: HttpRequest, *, establishment: Establishment, credential: UUID, nonce: str, signature: str
) -> Membership:
    """Sign in whom the device's key belongs to, under a new session id; give their membership."""
    address = one_line(str(request.META.get("REMOTE_ADDR", "")))
    known = use_up(establishment, nonce)
    found = live_credentials(establishment).filter(pk=credential).select_related("person").first()
    if found is None:
        log.warning("turn refused, key not live: address=%s", address)
        raise NotAllowed(
            _("This device is not signed in for this person any more. Sign in with the password."),
            part="credential",
        )
    membership = membership_for(establishment, found.person)
    holds = signature_holds(found.public_key, signed_text(establishment, found, nonce), signature)
    if not known or not holds or membership is None:
        log.warning("turn refused: name=%s address=%s", one_line(found.person.username), address)
        raise NotAllowed(_("The device could not show whose turn it is. Try again."), status=401)
    login(request, found.person)
    request.session.cycle_key()
    mark_session(request, BY_PIN)
    log.info("sign-in ok by PIN on a device: name=%s address=%s", one_line(found.person.username), address)
    return membership


def turn_by_password(
    request: HttpRequest, *, establishment: Establishment, username: str, password: str
) -> Membership:
    """Sign in a member by name and password; give their membership. Says never whether a name exists."""
    tried = sign_in_person(request, username, password)
    if tried.person is None:
        raise BadInput(said(tried), part="password", status=429 if tried.wait else 422)
    membership = membership_for(establishment, tried.person)
    if membership is None:
        logout(request)
        raise NotAllowed(_("You have no access to this establishment."))
    return membership
