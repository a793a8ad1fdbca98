"""The life of a spec revision: drafted, put in force, superseded by the next. Once in force it is frozen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from django.db import transaction
from django.db.models import Max, ProtectedError

from inventory.access import Deed, require
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Unit
from inventory.models import Spec, SpecCell, SpecPoint, SpecSize, Style
from inventory.queries.plans import plans_of_spec
from inventory.queries.specs import sheet_of
from inventory.services.audit import leave_row
from inventory.services.refusals import Refused
from inventory.services.spec_cells import Fill, locked_draft, set_cells
from inventory.services.spec_defaults import entries_from_catalogue, with_defaults
from inventory.services.spec_entries import PointEntry
from inventory.services.spec_sizes import check_run, write_run

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


class DraftWaiting(Refused):
    """A style has one draft at a time."""

    def __init__(self, draft: Spec) -> None:
        super().__init__(
            f"Style {draft.style.code} has a draft already: revision {draft.revision}. "
            "Finish it, or discard it first."
        )
        self.draft = draft


class SpecIncomplete(Refused):
    """Something without which a piece could not be judged is missing; `missing` maps point codes to sizes."""

    def __init__(self, sentence: str, missing: Mapping[str, Sequence[str]] | None = None) -> None:
        super().__init__(sentence)
        self.missing = dict(missing or {})


class RevisionNeedsReason(Refused):
    """A new revision says why it exists: the maker asks, and so will we in two years."""


class DraftIsNamedByBatch(Refused):
    """A batch is judged by this revision, so it cannot be thrown away."""


@transaction.atomic
def draft_spec(
    *,
    style: Style,
    unit_of_record: str,
    size_labels: Sequence[str],
    base_size: str,
    entries: Mapping[str, PointEntry],
    reason: str = "",
    by: User,
    at: dt.datetime,
) -> Spec:
    """Draft a style's spec from the base size and the grade steps; tolerances come from the catalogue.

    An entry gives the nominal of the base size and the step; all sizes are worked out from them. What an
    entry says of tolerances goes before the catalogue; points without an entry stay empty. Raises
    `DraftWaiting`, `SizeRunWrong`, `FiguresNotUnderstood`.
    """
    require(by, Deed.SET_UP)
    check_run(size_labels, base_size)
    spec = _new_draft(style, unit_of_record=unit_of_record, base_size=base_size, reason=reason, by=by, at=at)
    write_run(spec, size_labels)
    defaults = entries_from_catalogue(style, unit=Unit(unit_of_record))
    rows = {
        code: with_defaults(entries.get(code, PointEntry()), defaults.get(code, PointEntry()))
        for code in defaults.keys() | entries.keys()
    }
    set_cells(spec=spec, entries=rows, fill=Fill.ALL, by=by, at=at)
    leave_row(who=by, deed="draft spec", subject=spec, at=at, sizes=list(size_labels))
    return spec


@transaction.atomic
def revise_spec(*, spec: Spec, reason: str, by: User, at: dt.datetime) -> Spec:
    """Draft the next revision as a copy of this one, without the points retired since.

    Raises `RevisionNeedsReason`, `DraftWaiting`.
    """
    require(by, Deed.SET_UP)
    if not reason.strip():
        raise RevisionNeedsReason(
            f"Say why {spec} is revised, such as 'waist 3 mm over on the last two deliveries'.",
            field="reason",
        )
    draft = _new_draft(
        spec.style, unit_of_record=spec.unit_of_record, base_size=spec.base_size, reason=reason, by=by, at=at
    )
    _copy(spec, draft)
    leave_row(who=by, deed="revise spec", subject=draft, at=at, copied_from=str(spec), reason=reason.strip())
    return draft


@transaction.atomic
def put_spec_in_force(*, spec: Spec, by: User, at: dt.datetime) -> Spec:
    """Freeze a complete draft and make it the style's spec in force; the one before is superseded.

    Batches stay with the revision their order named. Raises `SpecIncomplete`, `SpecIsFrozen`.
    """
    require(by, Deed.SET_UP)
    draft = locked_draft(spec)
    _check_complete(draft)
    draft.spec_points.filter(point__is_active=False).delete()  # retired since their rows were filled in
    before = Spec.objects.filter(style=draft.style_id, state=Spec.State.IN_FORCE).first()
    if before is not None:
        before.state = Spec.State.SUPERSEDED
        before.superseded_at = at
        before.save(update_fields=["state", "superseded_at"])
        leave_row(who=by, deed="supersede spec", subject=before, at=at, by_revision=draft.revision)
    draft.state = Spec.State.IN_FORCE
    draft.in_force_at = at
    draft.save(update_fields=["state", "in_force_at"])
    leave_row(
        who=by,
        deed="put spec in force",
        subject=draft,
        at=at,
        supersedes=None if before is None else before.revision,
    )
    return draft


@transaction.atomic
def discard_draft(*, spec: Spec, by: User, at: dt.datetime) -> None:
    """Throw a draft away, figures and all; its number is used again.

    Raises `SpecIsFrozen`, `DraftIsNamedByBatch`.
    """
    require(by, Deed.SET_UP)
    draft = locked_draft(spec)
    leave_row(who=by, deed="discard draft", subject=draft, at=at, style=draft.style.code)
    try:
        draft.delete()
    except ProtectedError as named:
        raise DraftIsNamedByBatch(
            f"{draft} is named by a batch and cannot be discarded. Complete it and put it in force."
        ) from named


def _new_draft(
    style: Style, *, unit_of_record: str, base_size: str, reason: str, by: User, at: dt.datetime
) -> Spec:
    waiting = Spec.objects.select_related("style").filter(style=style, state=Spec.State.DRAFT).first()
    if waiting is not None:
        raise DraftWaiting(waiting)
    latest = Spec.objects.filter(style=style).aggregate(latest=Max("revision"))["latest"] or 0
    spec = Spec(
        style=style,
        revision=latest + 1,
        unit_of_record=unit_of_record,
        base_size=base_size,
        reason=reason.strip(),
        author=by,
        created_at=at,
    )
    spec.full_clean(validate_unique=False, validate_constraints=False)
    spec.save()
    return spec


def _copy(source: Spec, draft: Spec) -> None:
    sizes = {
        size.pk: SpecSize(spec=draft, label=size.label, position=size.position) for size in source.sizes.all()
    }
    points = {
        row.pk: SpecPoint(
            spec=draft,
            point_id=row.point_id,
            basis=row.basis,
            asymmetry_limit_nm=row.asymmetry_limit_nm,
            favourable_side=row.favourable_side,
            favourable_limit_nm=row.favourable_limit_nm,
            grade_step_nm=row.grade_step_nm,
        )
        for row in source.spec_points.filter(point__is_active=True)
    }
    SpecSize.objects.bulk_create(sizes.values())
    SpecPoint.objects.bulk_create(points.values())
    SpecCell.objects.bulk_create(
        SpecCell(
            spec_point=points[cell.spec_point_id],
            size=sizes[cell.size_id],
            nominal_nm=cell.nominal_nm,
            tolerance_minus_nm=cell.tolerance_minus_nm,
            tolerance_plus_nm=cell.tolerance_plus_nm,
        )
        for cell in SpecCell.objects.filter(spec_point__in=points)
    )


def _check_complete(draft: Spec) -> None:
    sheet = sheet_of(draft)
    if not sheet.sizes:
        raise SpecIncomplete(f"{draft} has no sizes. Enter its size run.")
    if not sheet.rows:
        raise SpecIncomplete(f"Style {draft.style.code} has no point to measure. Add one to the style.")
    if sheet.missing:
        gaps = "; ".join(
            f"{code} in {'all sizes' if sizes == sheet.sizes else ', '.join(sizes)}"
            for code, sizes in sheet.missing.items()
        )
        raise SpecIncomplete(
            f"{draft} lacks figures: {gaps}. Fill them in, or retire the point.", sheet.missing
        )
    try:
        plans_of_spec(draft)
    except ImpossibleInput as refusal:
        # A point's words were changed after its row was filled in, such as a pair made single.
        raise SpecIncomplete(f"{draft} contradicts its points. {refusal}") from refusal
