"""Model plans: a whole plan for each family of cheese, to be worked through and changed by those who use it.

A model is a beginning, never a plan that somebody approved: its figures wait to be confirmed one by one, and
where no text fixes a figure, such as a pH by an hour, it holds the question and not an answer. Each file of
`fixtures/reference/model_plans/` holds one model:

    {"schema": 1, "family", "name", "about", "sources": [...],
     "plan": a plan document of form 2 without its profile, whose one product has the code XX,
     "by_profile": {profile: {"product": {...}, "positive_action": {...},
                              "controls" | "hazards" | "prerequisites" | "verifications": {code: {...}}}}}

by_profile says what another regulatory profile changes: whole values, put in the place of the model's own.
"""

import json
from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from safetyplan.reference.profiles import profiles

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "reference" / "model_plans"
FAMILIES = (
    "fresh_lactic",
    "soft_bloomy",
    "washed_rind",
    "washed_curd",
    "hard_raw",
    "blue",
    "brined",
    "whey_cheese",
)
# the code that stands for the product's own until there is one
PLACEHOLDER = "XX"

Data = dict[str, Any]
_WRAPPER = ("schema", "family", "name", "about", "sources", "plan", "by_profile")
_WHOLE = ("product", "positive_action")
# activities whose words hold the criteria of one kind of cheese or milk
_WITH_CRITERIA = ("product_test", "milk_test")
_CODED = ("controls", "hazards", "prerequisites", "verifications")


@dataclass(frozen=True)
class ModelPlan:
    """A model plan as it stands in its file; `plan` and `by_profile` are never handed out to be changed."""

    family: str
    name: str
    about: str
    sources: tuple[str, ...]
    plan: Mapping[str, Any]
    by_profile: Mapping[str, Mapping[str, Any]]


def read_model(data: Any, where: str = "model") -> ModelPlan:
    """Read one file. Raises ValueError with the path of the first value that cannot be taken."""
    _only(data, _WRAPPER, where)
    missing = [key for key in _WRAPPER if key not in data]
    if missing:
        raise ValueError(f"{where}.{missing[0]}: is missing")
    if data["schema"] != 1 or isinstance(data["schema"], bool):
        raise ValueError(f"{where}.schema: must be 1")
    if data["family"] not in FAMILIES:
        raise ValueError(f"{where}.family: must be one of {', '.join(FAMILIES)}")
    for key in ("name", "about"):
        _text(data[key], f"{where}.{key}")
    sources = data["sources"]
    if not isinstance(sources, list) or not sources:
        raise ValueError(f"{where}.sources: must be a list of texts")
    for at, source in enumerate(sources):
        _text(source, f"{where}.sources[{at}]")
    _plan(data["plan"], f"{where}.plan")
    _by_profile(data["by_profile"], data["plan"], f"{where}.by_profile")
    return ModelPlan(
        data["family"], data["name"], data["about"], tuple(sources), data["plan"], data["by_profile"]
    )


@lru_cache(maxsize=1)
def model_plans() -> Mapping[str, ModelPlan]:
    """Give every model plan by its family, in the order of `FAMILIES`."""
    found = {}
    for family in FAMILIES:
        file = FOLDER / f"{family}.json"
        if file.exists():
            found[family] = read_model(json.loads(file.read_text(encoding="utf-8")), file.name)
    return found


def instantiate(model: ModelPlan, *, profile: str, code: str, name: str, title: str = "") -> Data:
    """Make a plan document of a model for one product under a regulatory profile.

    The profile's parameters are copied with the day they were read, so that a later reading changes no plan.
    Raises ValueError for an unknown profile or an empty code.
    """
    rules = profiles().get(profile)
    if rules is None:
        raise ValueError(f"profile: there is no regulatory profile {profile!r}")
    if not code.strip():
        raise ValueError("code: a product needs a code")
    plan: Data = deepcopy(dict(model.plan))
    _apply(plan, model.by_profile.get(profile, {}))
    plan["products"][0] |= {"code": code, "name": name}
    for item in (*plan["hazards"], *plan["controls"]):
        item["products"] = [code if one == PLACEHOLDER else one for one in item["products"]]
    if title:
        plan["title"] = title
    plan["profile"] = {
        "code": rules.code,
        "read_on": rules.read_on,
        "parameters": [{**vars(parameter), "reason": ""} for parameter in rules.parameters],
    }
    return plan


def add_to(document: Mapping[str, Any], model: ModelPlan, *, code: str, name: str) -> Data:
    """Give a plan document with one more product, made after a model; the document itself stays as it is.

    What the draft already has in the same words is shared by adding the product to it. A programme, an
    activity of the verification schedule and a row of the whole site of the same name are the same one, and
    the words of the draft stand; not so a test of cheese or milk with other criteria. Anything else gets a
    code that is free, and whatever names it follows.

    Raises ValueError for a product code that is taken and for a document of another form.
    """
    draft: Data = deepcopy(dict(document))
    if draft.get("schema") != model.plan["schema"]:
        raise ValueError(f"schema: must be {model.plan['schema']} before a product of a model can be added")
    if any(product.get("code") == code for product in draft["products"]):
        raise ValueError(f"products: the code {code} is used already")
    rules = draft.get("profile", {}).get("code", "")
    more = instantiate(model, profile=rules if rules in profiles() else "codex", code=code, name=name)
    draft["products"].append(more["products"][0])
    renamed = _add_controls(draft, more) | _add_programmes(draft, more)
    _add_hazards(draft, more, renamed)
    _add_verifications(draft, more, renamed)
    for block in ("recall", "positive_action"):
        there = draft.get(block, {})
        draft[block] = {**more.get(block, {}), **{key: text for key, text in there.items() if text}}
    return draft


def _add_controls(draft: Data, more: Data) -> dict[str, str]:
    """Share or add controls; give the code each now has, by the code it has in the model."""
    now: dict[str, str] = {}
    for control in more["controls"]:
        old = control["code"]
        same = next((one for one in draft["controls"] if _same_control(one, control)), None)
        if same is None:
            now[old] = _place(draft, "controls", control)
            continue
        now[old] = same["code"]
        _join(same, "products", control["products"])
    return now


def _same_control(one: Data, other: Data) -> bool:
    """Tell whether two controls are one: in all words, or a check of the house of one name and one limit."""
    if _of_the_site(one, other) and _named_alike(one, other):
        return bool(one["limit"] == other["limit"])
    return bool(one.get("products") and other["products"]) and _words(one) == _words(other)


def _add_programmes(draft: Data, more: Data) -> dict[str, str]:
    draft.setdefault("prerequisites", [])
    now: dict[str, str] = {}
    for programme in more.get("prerequisites", []):
        old = programme["code"]
        same = next((one for one in draft["prerequisites"] if _named_alike(one, programme)), None)
        now[old] = _place(draft, "prerequisites", programme) if same is None else same["code"]
    return now


def _add_hazards(draft: Data, more: Data, renamed: Mapping[str, str]) -> None:
    for hazard in more["hazards"]:
        by = hazard.get("controlled_by", "")
        hazard["controlled_by"] = renamed.get(by, by)
        same = next((one for one in draft["hazards"] if _same_hazard(one, hazard)), None)
        if same is None:
            _place(draft, "hazards", hazard)
        else:
            _join(same, "products", hazard["products"])


def _same_hazard(one: Data, other: Data) -> bool:
    if _of_the_site(one, other):
        return one["step"] == other["step"] and _named_alike(one, other)
    return bool(one.get("products") and other["products"]) and _words(one) == _words(other)


def _of_the_site(one: Data, other: Data) -> bool:
    """Tell whether both are there for the whole site and no product in particular."""
    return not one.get("products") and not other.get("products")


def _add_verifications(draft: Data, more: Data, renamed: Mapping[str, str]) -> None:
    draft.setdefault("verifications", [])
    for activity in more.get("verifications", []):
        activity["controls"] = [renamed.get(one, one) for one in activity.get("controls", [])]
        same = next((one for one in draft["verifications"] if _same_activity(one, activity)), None)
        if same is None:
            _place(draft, "verifications", activity)
        elif same.get("controls"):  # one that names none verifies the whole plan
            _join(same, "controls", activity["controls"])


def _same_activity(one: Data, other: Data) -> bool:
    if one["kind"] != other["kind"] or not _named_alike(one, other):
        return False
    return one["kind"] not in _WITH_CRITERIA or bool(one["how"] == other["how"])


def _place(draft: Data, part: str, item: Data) -> str:
    """Put an item into its list under a code that is free there; give the code."""
    old, taken = item["code"], {one["code"] for one in draft[part]}
    if part in ("controls", "prerequisites"):  # a hazard names either by its code alone
        taken |= {one["code"] for key in ("controls", "prerequisites") for one in draft.get(key, [])}
    item["code"] = _free(old, taken)
    for action in item.get("corrective_actions", []):
        if action["code"].startswith(f"{old}-"):
            action["code"] = item["code"] + action["code"].removeprefix(old)
    draft[part].append(item)
    return str(item["code"])


def _free(code: str, taken: set[str]) -> str:
    """Give a code that nobody has: the same, or the next number after the same letters."""
    if code not in taken:
        return code
    stem, number = code.rstrip("0123456789"), 1
    while f"{stem}{number}" in taken:
        number += 1
    return f"{stem}{number}"


def _join(item: Data, key: str, more: list[str]) -> None:
    there = item.get(key, [])
    item[key] = [*there, *(one for one in more if one not in there)]


def _named_alike(one: Data, other: Data) -> bool:
    return bool(one["name"].strip().casefold() == other["name"].strip().casefold())


def _words(item: Data) -> Data:
    """Give what two items are compared by: what is said in them, but no codes and no products."""
    found: Data = _said({key: value for key, value in item.items() if key not in ("code", "products")})
    if "corrective_actions" in found:
        found["corrective_actions"] = [action["text"] for action in found["corrective_actions"]]
    return found


def _said(value: Any) -> Any:
    """Leave out what is empty: a text left out and an empty one say the same."""
    if isinstance(value, Mapping):
        return {key: _said(inner) for key, inner in value.items() if inner}
    return [_said(inner) for inner in value] if isinstance(value, list) else value


def _apply(plan: Data, changes: Mapping[str, Any]) -> None:
    """Put the values of a profile in the place of the model's own."""
    changed: Data = deepcopy(dict(changes))
    plan["products"][0] |= changed.get("product", {})
    plan["positive_action"] = plan.get("positive_action", {}) | changed.get("positive_action", {})
    for part in _CODED:
        for item in plan.get(part, []):
            item |= changed.get(part, {}).get(item["code"], {})


def _plan(data: Any, where: str) -> None:
    """Check what instantiation relies on; the rest is read when the plan is read as a document."""
    if not isinstance(data, Mapping):
        raise ValueError(f"{where}: must be an object")
    if "profile" in data:
        raise ValueError(f"{where}.profile: is chosen when a plan is made of the model")
    for key in ("products", "hazards", "controls"):
        if not isinstance(data.get(key), list):
            raise ValueError(f"{where}.{key}: must be a list")
    if [product.get("code") for product in data["products"]] != [PLACEHOLDER]:
        raise ValueError(f"{where}.products: must be one product of the code {PLACEHOLDER}")


def _by_profile(data: Any, plan: Mapping[str, Any], where: str) -> None:
    _only(data, tuple(profiles()), where)
    for profile, changes in data.items():
        _only(changes, (*_WHOLE, *_CODED), f"{where}.{profile}")
        for part, found in changes.items():
            place = f"{where}.{profile}.{part}"
            if part in _WHOLE:
                _only(found, tuple(plan["products"][0] if part == "product" else plan.get(part, {})), place)
                continue
            items = {item["code"]: item for item in plan.get(part, [])}
            _only(found, tuple(items), place)
            for code, values in found.items():
                _only(values, tuple(key for key in items[code] if key != "code"), f"{place}.{code}")


def _only(data: Any, keys: tuple[str, ...], where: str) -> None:
    if not isinstance(data, Mapping):
        raise ValueError(f"{where}: must be an object")
    strange = sorted(set(map(str, data)) - set(keys))
    if strange:
        raise ValueError(f"{where}.{strange[0][:60]}: is not known here")


def _text(value: Any, where: str) -> None:
    if not isinstance(value, str) or not value.strip():
        raise ValueError(f"{where}: must be a text")
