"""Valid records with no arguments needed; a test states only what it is about.

Lengths are given in millimetres here, for reading; rows hold whole nanometres.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from inventory.calc.length import Unit
from inventory.models import (
    Batch,
    CheckGarment,
    CheckReading,
    CheckSitting,
    Defect,
    Delivery,
    Inspection,
    Instrument,
    JudgementBasis,
    Maker,
    MeasurePoint,
    Piece,
    PieceVerdict,
    Reading,
    Shop,
    Spec,
    SpecCell,
    SpecPoint,
    SpecSize,
    Study,
    StudyPerson,
    StudyPiece,
    StudyTurn,
    Style,
    TapeCheck,
    User,
)
from inventory.models.people import Role
from inventory.services.tape_checks import TypedLength, check_tape

MM = 1_000_000
NOW = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)
PASSWORD = "a-long-test-password"

_count = itertools.count(1)


@dataclass(frozen=True)
class PointRecipe:
    """How a test's point is measured and judged; lengths in mm."""

    code: str
    name: str
    kind: str = "half"
    sides: str = "pair"
    nominal_mm: int = 330
    step_mm: int = 25
    tolerance_mm: int = 6
    basis: str = "half"
    asymmetry_mm: int | None = 6
    same_person_sd_nm: int = MM
    two_people_sd_nm: int = 1_500_000
    informational: bool = False


LACED: tuple[PointRecipe, ...] = (
    PointRecipe("UB", "half underbust", nominal_mm=380, tolerance_mm=8),
    PointRecipe("WA", "half waist"),
    PointRecipe(
        "CF", "centre front length", kind="length", nominal_mm=300, step_mm=5, tolerance_mm=5, asymmetry_mm=3
    ),
)


def make_user(role: str = Role.INSPECTOR, *, username: str = "") -> User:
    return User.objects.create_user(
        username=username or f"{role}{next(_count)}", password=PASSWORD, role=role
    )


def make_maker(**fields: object) -> Maker:
    number = next(_count)
    return Maker.objects.create(
        **{"code": f"m{number}", "name": f"Workshop {number}", "notice_window_days": 14} | fields
    )


def make_instrument(**fields: object) -> Instrument:
    return Instrument.objects.create(**{"number": f"T{next(_count)}"} | fields)


def make_tape_check(
    tape: Instrument, *, near_mm: float = 0, far_mm: float = 0, at: dt.datetime = NOW, by: User | None = None
) -> TapeCheck:
    """A check at 300 and 800 mm, where the tape reads too long by so much."""
    return check_tape(
        instrument=tape,
        lengths=[
            TypedLength("300", (f"{300 + near_mm:g}",)),
            TypedLength("800", (f"{800 + far_mm:g}",)),
        ],
        unit=Unit.MM,
        by=by or make_user(),
        at=at,
    )


def make_style(points: Sequence[PointRecipe] = LACED, **fields: object) -> Style:
    number = next(_count)
    style = Style.objects.create(
        **{"code": f"style-{number}", "name": f"Style {number}", "family": Style.Family.LACED_UNDERBUST}
        | fields
    )
    for position, recipe in enumerate(points, start=1):
        MeasurePoint.objects.create(
            style=style,
            position=position,
            code=recipe.code,
            name=recipe.name,
            measured_from="front edge",
            measured_to="back edge",
            path="straight",
            level="on the waist tape",
            state="taut, laces slack",
            face="outside",
            kind=recipe.kind,
            sides=recipe.sides,
            informational=recipe.informational,
            same_person_sd_nm=recipe.same_person_sd_nm,
            two_people_sd_nm=recipe.two_people_sd_nm,
        )
    style.refresh_from_db()
    return style


def make_spec(
    style: Style | None = None,
    *,
    sizes: Sequence[str] = ("22", "24", "26"),
    points: Sequence[PointRecipe] = LACED,
    state: str = Spec.State.IN_FORCE,
    author: User | None = None,
    **fields: object,
) -> Spec:
    """A spec with every cell filled; nominals grow by the recipe's step from the first size."""
    style = style or make_style(points)
    spec = Spec.objects.create(
        **{
            "style": style,
            "revision": style.specs.count() + 1,
            "base_size": sizes[0],
            "author": author or make_user(Role.OWNER),
            "created_at": NOW,
        }
        | fields
    )
    size_rows = [SpecSize.objects.create(spec=spec, label=label, position=n) for n, label in enumerate(sizes)]
    by_code = {point.code: point for point in style.points.all()}
    for recipe in points:
        limit = None if recipe.asymmetry_mm is None or recipe.sides == "single" else recipe.asymmetry_mm * MM
        spec_point = SpecPoint.objects.create(
            spec=spec,
            point=by_code[recipe.code],
            basis=recipe.basis,
            asymmetry_limit_nm=limit,
            grade_step_nm=recipe.step_mm * MM,
        )
        for place, size in enumerate(size_rows):
            SpecCell.objects.create(
                spec_point=spec_point,
                size=size,
                nominal_nm=(recipe.nominal_mm + place * recipe.step_mm) * MM,
                tolerance_minus_nm=recipe.tolerance_mm * MM,
                tolerance_plus_nm=recipe.tolerance_mm * MM,
            )
    if state != Spec.State.DRAFT:
        Spec.objects.filter(pk=spec.pk).update(state=state, in_force_at=NOW)
        spec.refresh_from_db()
    return spec


def make_delivery(**fields: object) -> Delivery:
    defaults: dict[str, object] = {
        "number": next(_count),
        "arrived_at": NOW,
        "order_reference": "PO-1",
        "notice_window_days": 14,
        "created_at": NOW,
    }
    if "maker" not in fields:
        defaults["maker"] = make_maker()
    if "received_by" not in fields:
        defaults["received_by"] = make_user()
    return Delivery.objects.create(**defaults | fields)


def make_batch(spec: Spec | None = None, **fields: object) -> Batch:
    spec = spec or make_spec()
    if "delivery" not in fields:
        fields["delivery"] = make_delivery()
    return Batch.objects.create(
        **{"number": next(_count), "style": spec.style, "spec": spec, "created_at": NOW} | fields
    )


def make_piece(batch: Batch | None = None, *, size_label: str = "24", **fields: object) -> Piece:
    batch = batch or make_batch()
    return Piece.objects.create(
        **{"number": next(_count), "batch": batch, "size_label": size_label, "created_at": NOW} | fields
    )


def make_inspection(piece: Piece | None = None, **fields: object) -> Inspection:
    piece = piece or make_piece()
    if "opened_by" not in fields:
        fields["opened_by"] = make_user()
    return Inspection.objects.create(**{"piece": piece, "unit": "mm", "opened_at": NOW} | fields)


def make_reading(
    inspection: Inspection, code: str = "WA", side: str = "L", *, mm: float = 355, **fields: object
) -> Reading:
    """A reading as if typed in millimetres."""
    point = inspection.piece.batch.style.points.get(code=code)
    return Reading.objects.create(
        **{
            "inspection": inspection,
            "point": point,
            "side": side,
            "typed": f"{mm:g}",
            "unit": "mm",
            "length_nm": round(mm * MM),
            "instrument": inspection.instrument,
            "taken_by": inspection.opened_by,
            "taken_at": NOW,
            "recorded_at": NOW,
        }
        | fields
    )


def measure_all(inspection: Inspection, off_mm: Mapping[tuple[str, str], float] | None = None) -> None:
    """Read every point of the piece at its nominal, but for the deviations (mm) given."""
    piece = inspection.piece
    cells = SpecCell.objects.filter(spec_point__spec=piece.batch.spec, size__label=piece.size_label)
    for cell in cells.select_related("spec_point__point"):
        point = cell.spec_point.point
        for side in point.sides_read:
            off = (off_mm or {}).get((point.code, side), 0)
            make_reading(inspection, point.code, side, mm=cell.nominal_nm / MM + off)


def make_verdict(piece: Piece | None = None, *, shelf: str = "in", **fields: object) -> PieceVerdict:
    """The piece's current verdict as a bare row, without findings; the claim verdict is the shelf's."""
    if "inspection" not in fields:
        fields["inspection"] = make_inspection(piece)
    inspection = fields["inspection"]
    assert isinstance(inspection, Inspection)
    basis, _ = JudgementBasis.objects.get_or_create(
        digest=f"spec {inspection.piece.batch.spec_id} size {inspection.piece.size_label}",
        defaults={
            "spec": inspection.piece.batch.spec,
            "size_label": inspection.piece.size_label,
            "document": {"method": "judging/1", "points": []},
            "created_at": NOW,
        },
    )
    PieceVerdict.objects.filter(piece=inspection.piece, is_current=True).update(is_current=False)
    return PieceVerdict.objects.create(
        **{
            "piece": inspection.piece,
            "basis": basis,
            "shelf": shelf,
            "claim": shelf,
            "findings": {},
            "judged_by": inspection.opened_by,
            "judged_at": NOW,
        }
        | fields
    )


def make_defect(piece: Piece | None = None, **fields: object) -> Defect:
    if "batch" not in fields:
        piece = piece or make_piece()
        fields["batch"] = piece.batch
    if "seen_by" not in fields:
        fields["seen_by"] = make_user()
    return Defect.objects.create(
        **{"piece": piece, "kind": "loose thread ends", "severity": "minor", "zone": "B", "seen_at": NOW}
        | fields
    )


def make_study(
    batch: Batch | None = None,
    *,
    people: Sequence[User] = (),
    pieces: int = 2,
    rounds: int = 2,
    codes: Sequence[str] = ("WA", "CF"),
    **fields: object,
) -> Study:
    """A running study of a batch's first pieces, each person going through them in the same order."""
    batch = batch or make_batch()
    people = people or (make_user(), make_user())
    defaults = {
        "number": next(_count),
        "style": batch.style,
        "rounds": rounds,
        "seed": 1,
        "unit": "mm",
        "planned_by": make_user(Role.OWNER),
        "planned_at": NOW,
    }
    study = Study.objects.create(**defaults | fields)
    study.points.set(batch.style.points.filter(code__in=codes))
    lying = [
        StudyPiece.objects.create(study=study, piece=make_piece(batch), position=n) for n in range(pieces)
    ]
    for position, person in enumerate(people):
        row = StudyPerson.objects.create(study=study, person=person, position=position)
        walk = ((round_, piece) for round_ in range(1, rounds + 1) for piece in lying)
        for order, (round_, piece) in enumerate(walk, start=1):
            StudyTurn.objects.create(
                study=study, study_person=row, study_piece=piece, round=round_, order=order
            )
    return study


def make_check_garment(codes: Sequence[str] = ("WA", "CF"), **fields: object) -> CheckGarment:
    spec = make_spec()
    garment = CheckGarment.objects.create(
        **{
            "code": f"check-{next(_count)}",
            "style": spec.style,
            "size_label": "24",
            "baseline_from": NOW,
            "since": NOW.date(),
        }
        | fields
    )
    garment.points.set(garment.style.points.filter(code__in=codes))
    return garment


def make_check_sitting(garment: CheckGarment | None = None, **fields: object) -> CheckSitting:
    if "opened_by" not in fields:
        fields["opened_by"] = make_user()
    return CheckSitting.objects.create(
        **{"garment": garment or make_check_garment(), "unit": "mm", "opened_at": NOW} | fields
    )


def read_check_garment(
    garment: CheckGarment,
    mm: Mapping[str, float],
    *,
    at: dt.datetime = NOW,
    by: User | None = None,
    instrument: Instrument | None = None,
) -> CheckSitting:
    """A finished sitting: the points named, each side alike."""
    who = by or make_user()
    sitting = make_check_sitting(garment, opened_by=who, opened_at=at, finished_at=at, instrument=instrument)
    for point in garment.points.all():
        for side in point.sides_read:
            CheckReading.objects.create(
                sitting=sitting,
                point=point,
                side=side,
                typed=f"{mm[point.code]:g}",
                unit="mm",
                length_nm=round(mm[point.code] * MM),
                instrument=instrument,
                taken_by=who,
                taken_at=at,
                recorded_at=at,
            )
    return sitting


def the_shop() -> Shop:
    return Shop.objects.current()
