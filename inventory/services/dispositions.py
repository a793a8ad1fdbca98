"""Decide what is done with pieces: release, concession, second, re-label, rework, return, scrap, hold.

One piece or many are decided by the same code, all or nothing: with a single refusal nothing is written.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.models import Disposition, Piece
from inventory.models.pieces import Standing
from inventory.services.audit import leave_rows
from inventory.services.disposition_rules import (
    ON_THE_SAMPLE,
    WITH_INSPECTORS,
    Decision,
    DispositionRefused,
    check_words,
    objections,
    refuse_any,
    released_on_the_sample,
    standing_of,
)

if TYPE_CHECKING:
    from inventory.models import User


@transaction.atomic
def decide_disposition(
    *,
    piece: Piece,
    decision: str,
    by: User,
    at: dt.datetime,
    reason: str = "",
    agreed_with: str = "",
    ends_on: dt.date | None = None,
    new_size_label: str = "",
) -> Disposition:
    """Decide what is done with one piece and move it there. Raises `DispositionRefused`, `NotAllowed`.

    What each decision asks for is said in `decide_dispositions`.
    """
    (made,) = decide_dispositions(
        pieces=[piece],
        decision=decision,
        by=by,
        at=at,
        reason=reason,
        agreed_with=agreed_with,
        ends_on=ends_on,
        new_size_label=new_size_label,
    )
    piece.standing = made.decision
    piece.size_label = made.new_size_label or piece.size_label
    return made


@transaction.atomic
def decide_dispositions(
    *,
    pieces: Sequence[Piece],
    decision: str,
    by: User,
    at: dt.datetime,
    reason: str = "",
    agreed_with: str = "",
    ends_on: dt.date | None = None,
    new_size_label: str = "",
) -> list[Disposition]:
    """The same decision for many pieces, for all of them or for none.

    A concession needs `agreed_with` and a future `ends_on`; a second, rework, return or scrap a `reason`; a
    re-label a `new_size_label` of the spec, by which the piece is measured and judged from then on; the
    release of a piece that is not in tolerance, has a grave defect or came back from rework unmeasured is the
    owner's, with a `reason`. A piece that was not drawn may be released unmeasured once the sample accepted
    its batch. A hold may have an `ends_on`. Raises `DispositionRefused` naming the pieces that stand against
    it, `NotAllowed` where the person's role does not reach.
    """
    kind = standing_of(decision)
    require(by, Deed.RELEASE_GOOD if kind in WITH_INSPECTORS else Deed.DECIDE)
    decided = Decision(
        decision=kind,
        reason=reason.strip(),
        agreed_with=agreed_with.strip(),
        ends_on=ends_on,
        new_size_label=new_size_label,
    )
    check_words(decided, today=timezone.localdate(at))
    locked = _lock(pieces)
    if not locked:
        raise DispositionRefused("No piece was chosen, so nothing was decided. Choose at least one.")
    refuse_any(objections(locked, decided, by=by))
    unmeasured = released_on_the_sample(locked) if kind == Standing.RELEASE else frozenset[int]()
    made = Disposition.objects.bulk_create(
        Disposition(
            piece=piece,
            decision=kind,
            reason=decided.reason or (ON_THE_SAMPLE if piece.pk in unmeasured else ""),
            agreed_with=decided.agreed_with,
            ends_on=ends_on,
            new_size_label=new_size_label,
            decided_by=by,
            decided_at=at,
        )
        for piece in locked
    )
    now: dict[str, str] = {"standing": kind}
    if kind == Standing.RELABEL:
        # From now on it is measured and judged by the size it carries; the verdicts given before keep theirs.
        now["size_label"] = new_size_label
    Piece.objects.filter(pk__in=[piece.pk for piece in locked]).update(**now)
    leave_rows(
        who=by,
        deed=f"decide {kind.label.lower()}",
        subjects=[(piece, _detail(piece, decided)) for piece in locked],
        at=at,
    )
    return made


def _detail(piece: Piece, decision: Decision) -> dict[str, str]:
    said = {
        "before": piece.standing,
        "reason": decision.reason,
        "agreed_with": decision.agreed_with,
        "ends_on": decision.ends_on.isoformat() if decision.ends_on else "",
        "old_size": piece.size_label if decision.new_size_label else "",
        "new_size": decision.new_size_label,
    }
    return {name: value for name, value in said.items() if value}


def _lock(pieces: Iterable[Piece]) -> list[Piece]:
    """The pieces as they stand now, locked where the database locks rows, in label order."""
    return list(
        Piece.objects.select_for_update(of=("self",))
        .select_related("batch__spec")
        .filter(pk__in={piece.pk for piece in pieces})
        .order_by("number")
    )
