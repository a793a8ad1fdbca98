"""Judging what was read: one reading's point at the bench, a finished sitting, a whole batch again."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc import judging, sizing
from inventory.calc.judging import PieceJudgement, Taken
from inventory.models import JudgementBasis, PieceVerdict, Shop, UnreadSide, findings
from inventory.queries.plans import plans_of
from inventory.queries.sampling.rota import rested_in
from inventory.queries.taken import deciding_plans, taken_of
from inventory.queries.tape_corrections import as_read, corrections_document, known_by_point, tapes_of
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.calc.plan import PointPlan
    from inventory.models import Batch, Inspection, User


class NotYetMeasured(Refused):
    """A sitting was to be judged although something is still to be read or answered."""


def judge(
    plans: Mapping[str, PointPlan],
    taken: Mapping[tuple[str, str], Taken],
    shop: Shop,
    *,
    one_half_will_do: Collection[str] = (),
) -> PieceJudgement:
    """The judgement by the shop's two rules; nothing is stored."""
    return judging.judge_piece(
        list(plans.values()),
        taken,
        shelf=shop.shelf_rule.as_rule(),
        claim=shop.claim_rule.as_rule(),
        one_half_will_do=one_half_will_do,
    )


@transaction.atomic
def judge_inspection(*, inspection: Inspection, by: User, at: dt.datetime) -> PieceVerdict:
    """Judge a sitting and store the verdict with all it was judged on; it becomes the piece's current one.

    `inspection.piece.batch.style` should be loaded. Raises `NotYetMeasured` when a reading is still to come.
    """
    require(by, Deed.MEASURE)
    piece = inspection.piece
    shop = Shop.objects.current()
    spec_plans = plans_of(piece.batch)
    plans = deciding_plans(spec_plans, piece.size_label)
    judgement, taken, plans, corrections = _judged_so_far(inspection, plans, shop)
    if judgement.shelf is None or judgement.claim is None:
        missing = ", ".join(_missing(judgement))
        raise NotYetMeasured(f"Piece {piece.label} cannot be judged yet. Still to read: {missing}.")
    answer = sizing.fit_sizes(
        {column: found.mean_nm for column, found in taken.items()},
        {size: deciding_plans(spec_plans, size) for size in spec_plans.by_size},
        labelled=piece.size_label,
    )
    PieceVerdict.objects.filter(piece=piece, is_current=True).update(is_current=False)
    verdict = PieceVerdict.objects.create(
        piece=piece,
        inspection=inspection,
        basis=basis_for(piece.batch, piece.size_label, plans, shop=shop, at=at),
        shelf=judgement.shelf.value,
        claim=judgement.claim.value,
        worst_point=judgement.worst_code or "",
        worst_aspect=judgement.worst_aspect.value if judgement.worst_aspect else "",
        size_suspected=answer.suspected,
        fits_size=answer.size or "",
        size_margin_nm=answer.margin_nm,
        findings=findings.write_rows(judgement.findings, plans=plans),
        corrections=corrections,
        judged_by=by,
        judged_at=at,
    )
    leave_row(who=by, deed="judge piece", subject=piece, at=at, shelf=verdict.shelf, claim=verdict.claim)
    return verdict


def still_to_read(inspection: Inspection) -> list[str]:
    """The points and sides, such as `WA L`, that a sitting still lacks."""
    plans = deciding_plans(plans_of(inspection.piece.batch), inspection.piece.size_label)
    judgement, *_ = _judged_so_far(inspection, plans, Shop.objects.current())
    return _missing(judgement)


def _judged_so_far(
    inspection: Inspection, plans: Mapping[str, PointPlan], shop: Shop
) -> tuple[
    PieceJudgement,
    dict[tuple[str, str], Taken],
    dict[str, PointPlan],
    dict[str, Any] | None,  # Any: JSON
]:
    """The judgement, what was taken, the plans with the tapes' part, and the corrections."""
    readings = [
        reading
        for reading in inspection.readings.in_effect().select_related("point")
        if reading.point.code in plans
    ]
    read = {reading.point.code for reading in readings}
    rested = rested_in(inspection, plans_of(inspection.piece.batch)) - read
    plans = {code: plan for code, plan in plans.items() if code not in rested}
    tapes = tapes_of(shop)
    known = known_by_point(readings, tapes)
    taken = taken_of(readings, tapes)
    corrections = corrections_document(plans.values(), known.values())
    plans = {code: as_read(plan, known.get(code, {})) for code, plan in plans.items()}
    noted = UnreadSide.objects.filter(inspection=inspection).values_list("point__code", flat=True)
    return judge(plans, taken, shop, one_half_will_do=frozenset(noted)), taken, plans, corrections


def _missing(judgement: PieceJudgement) -> list[str]:
    return [f"{code} {side}" for code, side in judgement.missing]


def basis_for(
    batch: Batch, size_label: str, plans: Mapping[str, PointPlan], *, shop: Shop, at: dt.datetime
) -> JudgementBasis:
    """The stored basis for judging this size now; the same document is stored once."""
    document = findings.basis_document(
        plans.values(),
        size_label=size_label,
        shelf=shop.shelf_rule.as_rule(),
        claim=shop.claim_rule.as_rule(),
    )
    basis, _ = JudgementBasis.objects.get_or_create(
        digest=findings.digest_of({**document, "spec": batch.spec_id}),
        defaults={"spec_id": batch.spec_id, "size_label": size_label, "document": document, "created_at": at},
    )
    return basis
