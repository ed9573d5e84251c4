"""Refusals: what a person is told when a service cannot do what was asked."""

from collections.abc import Sequence

from django.utils.functional import Promise


class Refused(Exception):
    """The request cannot be carried out; the message is in the user's words.

    `status` is the HTTP status of the refusal; `part` names the field it belongs to;
    `offers` are choices the person can take instead of typing again.
    """

    status = 409

    def __init__(
        self,
        message: "str | Promise",
        *,
        part: str = "",
        offers: Sequence[dict[str, object]] = (),
        status: int | None = None,
    ) -> None:
        super().__init__(str(message))
        self.message = message
        self.part = part
        self.offers = list(offers)
        if status is not None:
            self.status = status


class BadInput(Refused):
    """What was typed cannot be taken as it is."""

    status = 422


class NotAllowed(Refused):
    """The person is a member but has not the role for this."""

    status = 403
