"""Published rules and methods as a contract uses them: what has to be confirmed, replaced numbers, later editions."""

from __future__ import annotations

from collections.abc import Iterator

from adhesion_stats.messages import Fact, Message, Place, Severity
from adhesion_stats.terms.specification import Specification
from adhesion_stats.terms.use import Used, UsedNumber, criterion_key

__all__ = ["criterion_published", "published_facts", "published_messages", "to_confirm"]


def to_confirm(terms: Specification, zone: str | None = None) -> list[Message]:
    """Return one message for each use whose numbers nobody confirmed: those that stand for ``zone``, or all."""
    return [
        Message("published_to_confirm", Severity.WARNING, Place(terms.file), _about(used, used.to_confirm))
        for used in terms.uses
        if used.to_confirm and (zone is None or used.is_for(zone))
    ]


def _key(one: UsedNumber) -> str:
    return one.path.rpartition(".")[2]


def _about(used: Used, numbers: tuple[UsedNumber, ...]) -> dict[str, Fact]:
    return {
        "name": used.published.name,
        "document": used.published.document,
        "edition": used.published.edition,
        "path": used.path,
        "numbers": tuple(f"{_key(one)} = {one.number.value}" for one in numbers),
        "count": len(numbers),
        "sure": tuple(sorted({one.number.sure for one in numbers})),
    }


def published_messages(terms: Specification) -> Iterator[Message]:
    """Yield what a reader has to know about every use of a published rule or method."""
    yield from to_confirm(terms)
    for used in terms.uses:
        yield from _of_use(terms.file, used)


def _of_use(file: str, used: Used) -> Iterator[Message]:
    place, name = Place(file), used.published.name
    unsure = tuple(one for one in used.numbers if one.instead is None and one.number.sure != "verified")
    if used.confirmed and unsure:
        facts = _about(used, unsure) | {"confirmed": used.confirmed}
        yield Message("published_confirmed", Severity.NOTE, place, facts)
    for one in used.replaced:
        facts = {"name": name, "path": used.path, "key": _key(one), "value": one.number.value}
        if one.instead:
            yield Message("published_replaced", Severity.WARNING, place, {**facts, "instead": one.instead})
        else:
            yield Message("published_left_out", Severity.WARNING, place, facts)
    if used.published.replaced_by:
        facts = {"name": name, "path": used.path, "newer": used.published.replaced_by}
        yield Message("published_superseded", Severity.WARNING, place, facts)
    for note in used.published.notes:
        yield Message("published_note", Severity.NOTE, place, {"name": name, "note": note})


def published_facts(terms: Specification) -> list[dict[str, object]]:
    """Return what of published documents the specification uses; see the schema of results.json."""
    return [
        {
            "path": used.path,
            "name": used.published.name,
            "kind": used.published.kind,
            "document": used.published.document,
            "edition": used.published.edition,
            "replaced_by": used.published.replaced_by or None,
            "zones": list(used.zones),
            "confirmed": used.confirmed or None,
            "to_confirm": bool(used.to_confirm),
            "numbers": [
                {
                    "path": one.path,
                    "value": one.number.value,
                    "instead": one.instead,
                    "clause": one.number.clause,
                    "sure": one.number.sure,
                    "seen": one.number.seen,
                }
                for one in used.numbers
            ],
        }
        for used in terms.uses
    ]


def criterion_published(terms: Specification, key: str) -> dict[str, object] | None:
    """Return from which published rule a criterion comes and how sure its numbers are; None where it is the contract's.

    ``sure`` is that of the least sure number that acts, None where the contract replaced them all.
    """
    for used in terms.uses:
        mine = [one for one in used.numbers if _is_of(one.path, key)]
        if mine:
            acting = [one.number.sure for one in mine if one.instead is None]
            order = ("verified", "secondary", "unverified")
            sure = max(acting, key=order.index) if acting else None
            open_ = any(one in used.to_confirm for one in mine)
            return {"name": used.published.name, "sure": sure, "to_confirm": open_, "confirmed": used.confirmed or None}
    return None


def _is_of(path: str, key: str) -> bool:
    """Whether a path of the specification lies within the criterion of this key."""
    if not path.startswith("require["):
        return False
    found = criterion_key(path)
    return found == key or found.startswith(f"{key}.")
