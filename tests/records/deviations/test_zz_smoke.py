import pytest
from django.urls import reverse
from tests.records.deviations.stage import *


def test_smoke(working):
    s = slow_vat(working)
    for person in (working.owner, working.maker, working.inspector, working.reviewer):
        c = signed_in(person)
        for name, args in [
            ("deviations", []),
            ("instruments", []),
            ("plan", []),
            ("plan_draft", []),
            ("people", []),
            ("details", []),
        ]:
            r = c.get(reverse(name, args=[working.dairy.slug, *args]))
            assert r.status_code == 200, (name, r.status_code)
        r = c.get(reverse("person", args=[working.dairy.slug, person.pk]))
        assert r.status_code == 200
        assert s.get(person).status_code == 200
    s.finish()
    for person in (working.owner, working.maker, working.inspector, working.reviewer):
        assert s.get(person).status_code == 200
    c = signed_in(working.owner)
    assert c.get(reverse("deviation_new", args=[working.dairy.slug])).status_code == 200
    assert c.get(reverse("person_add", args=[working.dairy.slug])).status_code == 200
    assert c.get(reverse("plan_version", args=[working.dairy.slug, 1])).status_code == 200
    assert c.get(reverse("plan_version", args=[working.dairy.slug, 10**30])).status_code == 404
