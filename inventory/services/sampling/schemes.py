"""Set what was agreed on sampling: each change is a new row, the old ones stay."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Final, TypedDict, Unpack

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.errors import CalcError
from inventory.calc.sampling import by_risk
from inventory.calc.sampling.attributes import choose_plan
from inventory.calc.sampling.attributes.choosing import MOST_AS_PERCENT
from inventory.calc.sampling.variables import AQLS as VARIABLES_AQLS
from inventory.models import SamplingScheme
from inventory.services.audit import leave_row
from inventory.services.sampling.refusals import SchemeRefused

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Maker, MeasurePoint, Style, User

Kind = SamplingScheme.Kind
RISKS: Final = ("producer_quality", "producer_risk", "consumer_quality", "consumer_risk")


class SchemeValues(TypedDict, total=False):
    """What can be agreed on; see the model's fields."""

    kind: str
    level: str
    stages: str
    switching: str
    aql_major: Decimal | None
    aql_minor: Decimal | None
    producer_quality: Decimal | None
    producer_risk: Decimal | None
    consumer_quality: Decimal | None
    consumer_risk: Decimal | None
    point: MeasurePoint | None
    method: str
    rota_batches: int | None


@transaction.atomic
def set_scheme(
    *,
    maker: Maker | None = None,
    style: Style | None = None,
    reason: str,
    by: User,
    at: dt.datetime,
    **values: Unpack[SchemeValues],
) -> SamplingScheme:
    """Set how batches of a maker, of a maker and style, or of the whole shop are sampled from now on.

    Samples drawn before keep their plan. Raises `SchemeRefused`, and `ValidationError` for a value its field
    does not take.
    """
    require(by, Deed.SET_UP)
    if not reason.strip():
        raise SchemeRefused("Say why: what was agreed, or what the maker has earned it by.", field="reason")
    scheme = SamplingScheme(maker=maker, style=style, reason=reason.strip(), set_by=by, set_at=at, **values)
    scheme.full_clean(validate_unique=False, validate_constraints=False)
    _check(scheme)
    scheme.save()
    leave_row(
        who=by,
        deed="set sampling",
        subject=scheme,
        at=at,
        maker=maker.code if maker else "",
        style=style.code if style else "",
        kind=scheme.kind,
        reason=scheme.reason,
    )
    return scheme


def _check(scheme: SamplingScheme) -> None:
    if scheme.style is not None and scheme.maker is None:
        raise SchemeRefused(f"Style {scheme.style.code} alone is no agreement. Name the maker as well.")
    if scheme.rota_batches is not None and not 2 <= scheme.rota_batches <= 12:
        raise SchemeRefused(
            f"A rota over {scheme.rota_batches} batches is none. Give 2 to 12, or leave it empty.",
            field="rota_batches",
        )
    if scheme.kind == Kind.ATTRIBUTES:
        _check_attributes(scheme)
    elif scheme.kind == Kind.BY_RISK:
        _check_risks(scheme)
    elif scheme.kind == Kind.VARIABLES:
        _check_variables(scheme)


def _check_attributes(scheme: SamplingScheme) -> None:
    if scheme.aql_major is None and scheme.aql_minor is None:
        raise SchemeRefused("By attributes an AQL is needed. Give one for major or minor.", field="aql_major")
    for name, aql in (("aql_major", scheme.aql_major), ("aql_minor", scheme.aql_minor)):
        if aql is None:
            continue
        if aql > MOST_AS_PERCENT:
            raise SchemeRefused(
                f"AQL {aql.normalize():f} counts defects per 100 pieces; here each bad piece counts once. "
                f"Take {MOST_AS_PERCENT} or less.",
                field=name,
            )
        try:
            choose_plan(1000, aql.normalize())
        except CalcError as refusal:
            raise SchemeRefused(str(refusal), field=name) from refusal
    if scheme.aql_major is not None and scheme.aql_minor is not None and scheme.aql_minor < scheme.aql_major:
        raise SchemeRefused(
            f"AQL {scheme.aql_minor.normalize():f} for minor is stricter than "
            f"{scheme.aql_major.normalize():f} for major. Swap the two.",
            field="aql_minor",
        )


def _check_risks(scheme: SamplingScheme) -> None:
    for name in RISKS:
        share: Decimal | None = getattr(scheme, name)
        if share is None:
            raise SchemeRefused("A plan by risk needs two shares and two risks. Give all four.", field=name)
        if not 0 <= share < 100:
            raise SchemeRefused(f"{share} % is no share. Give 0 to below 100.", field=name)
    good, alpha, poor, beta = (float(getattr(scheme, name)) / 100 for name in RISKS)
    try:
        by_risk.plan_by_risk(good, alpha, poor, beta)
    except CalcError as refusal:
        raise SchemeRefused(str(refusal), field="producer_quality") from refusal


def _check_variables(scheme: SamplingScheme) -> None:
    if scheme.point is None:
        raise SchemeRefused("By variables one point is judged. Choose it.", field="point")
    if scheme.style is None or scheme.point.style_id != scheme.style.pk:
        raise SchemeRefused(
            f"Point {scheme.point.code} belongs to one style: set this for the maker and that style.",
            field="point",
        )
    if scheme.aql_major is None or scheme.aql_major.normalize() not in VARIABLES_AQLS:
        known = ", ".join(map(str, VARIABLES_AQLS))
        given = "missing" if scheme.aql_major is None else f"{scheme.aql_major.normalize():f}"
        raise SchemeRefused(f"The AQL is {given}. By variables take one of {known}.", field="aql_major")
    if scheme.method == SamplingScheme.Method.SIGMA:
        if not scheme.producer_quality or not scheme.consumer_quality:
            raise SchemeRefused(
                "With a known spread the plan is made by risk: no tables for it are supplied here. Give both "
                "shares and both risks.",
                field="producer_quality",
            )
        _check_risks(scheme)
