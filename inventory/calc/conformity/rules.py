"""Decision rules: how wide the guard band is, for which purpose, and how to end when repeats are used up.

Four kinds of guard band, all a number of standard uncertainties wide while the uncertainty is well known:

- *plain*: none. At the limit itself half of all verdicts are wrong.
- *risk*: as wide as a stated risk asks for: at a limit at most this share of readings is called wrongly
  (one-sided; 5 % is 1.645·u, the default of ISO 14253-1:2017).
- *expanded*: the expanded uncertainty U = k·u (ISO 14253-1, ILAC-G8:2009; JCGM 106:2012 8.3.2).
- *multiple*: a number of standard uncertainties and nothing said of a risk.

Where the uncertainty is only known from a study with few degrees of freedom ν, a bell curve promises too
much: *risk* and *expanded* then take Student's t of ν (GUM, JCGM 100:2008, G.3). *multiple* does not.
The factor is rounded up at the third decimal, so that two machines never differ over a nanometre.
All of these sources from memory; the clause texts were not seen.
"""

import dataclasses
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from fractions import Fraction
from typing import Any, Literal, Self

from scipy.special import ndtr, ndtri, stdtrit

from inventory.calc.errors import ImpossibleInput

Purpose = Literal["shelf", "claim"]
AtTheEnd = Literal["plain", "stays_close"]
GuardKind = Literal["multiple", "plain", "risk", "expanded"]

GUARD_KINDS: tuple[GuardKind, ...] = ("multiple", "plain", "risk", "expanded")
_STEP = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Rule:
    """A decision rule: guard band = ``multiplier`` × standard uncertainty, and how to end.

    ``code`` and ``version`` name the rule in every stored verdict. A claim rule cannot end "plain".
    ``kind`` says where the multiplier comes from, which matters with few degrees of freedom; ``risk`` is
    stated by the kind "risk" alone. `Rule.by_risk` works the multiplier out.
    """

    code: str
    version: int
    purpose: Purpose
    multiplier: Decimal
    max_repeats: int = 4
    at_the_end: AtTheEnd = "plain"
    kind: GuardKind = "multiple"
    risk: Decimal | None = None

    def __post_init__(self) -> None:
        if not (self.multiplier.is_finite() and self.multiplier >= 0):
            raise ImpossibleInput("multiplier of the rule", self.multiplier, "Give a number of 0 or more")
        if self.max_repeats < 1:
            raise ImpossibleInput("number of repeats in the rule", self.max_repeats, "Allow at least one")
        if self.purpose == "claim" and self.at_the_end == "plain":
            raise ImpossibleInput(
                "end of the claim rule",
                "a plain comparison",
                "Let it stay too close to call: what is not proved is not claimed",
            )
        _check_kind(self)

    @classmethod
    def by_risk(
        cls,
        code: str,
        version: int,
        purpose: Purpose,
        *,
        risk: Decimal,
        max_repeats: int = 4,
        at_the_end: AtTheEnd = "plain",
    ) -> Self:
        """A rule of the kind "risk", with the multiplier that the risk asks for.

        >>> Rule.by_risk("five-percent", 1, "shelf", risk=Decimal("0.05")).multiplier
        Decimal('1.645')
        """
        multiplier = _multiplier_for(risk)
        return cls(code, version, purpose, multiplier, max_repeats, at_the_end, kind="risk", risk=risk)

    @property
    def risk_at_the_limit(self) -> float:
        """Share of single readings called wrongly if the true length is just at a limit, bell-shaped error.

        >>> DEFAULT_CLAIM.risk_at_the_limit < 0.023
        True
        """
        return float(self.risk) if self.risk is not None else float(ndtr(-float(self.multiplier)))

    @property
    def coverage(self) -> float:
        """Share of a bell curve within ± the guard band: 95.45 % for twice the uncertainty."""
        return 1 - 2 * self.risk_at_the_limit

    @property
    def in_words(self) -> str:
        """The guard band in one sentence, for the people who judge by it.

        >>> print(Rule.by_risk("five-percent", 1, "shelf", risk=Decimal("0.05")).in_words)
        Guard band 1.645 × uncertainty: at a limit at most 5 % are called wrongly.
        """
        if self.kind == "plain" or self.multiplier == 0:
            return "No guard band: at a limit up to half of the verdicts are wrong."
        times = f"{self.multiplier.normalize():f} × uncertainty"
        if self.risk is not None:
            share = f"{(self.risk * 100).normalize():f} %"
            return f"Guard band {times}: at a limit at most {share} are called wrongly."
        if self.kind == "expanded":
            return f"Guard band U = {times}, which covers {100 * self.coverage:.1f} % of readings."
        return f"Guard band {times}."


def _multiplier_for(risk: Decimal) -> Decimal:
    if not (risk.is_finite() and 0 < risk < Decimal("0.5")):
        raise ImpossibleInput("risk of the rule", risk, "Give a share above 0 and below 0.5, such as 0.05")
    return _rounded_up(-float(ndtri(float(risk))))


def _rounded_up(factor: float) -> Decimal:
    return Decimal(factor).quantize(_STEP, rounding=ROUND_UP)


def _check_kind(rule: Rule) -> None:
    if rule.kind not in GUARD_KINDS:
        choices = ", ".join(GUARD_KINDS)
        raise ImpossibleInput("kind of guard band", f'"{rule.kind}"', f"Choose one of {choices}")
    if (rule.risk is not None) is not (rule.kind == "risk"):
        fault = "not given" if rule.risk is None else f"{rule.risk}, for a guard band of kind {rule.kind}"
        raise ImpossibleInput("risk of the rule", fault, "State a risk for the kind risk and for no other")
    if rule.kind == "plain" and rule.multiplier != 0:
        raise ImpossibleInput("multiplier of the plain rule", rule.multiplier, "Give 0, or another kind")
    if rule.kind == "expanded" and rule.multiplier == 0:
        raise ImpossibleInput("coverage factor of the rule", 0, "Give one above zero, such as 2")
    if rule.risk is not None and rule.multiplier != _multiplier_for(rule.risk):
        cure = f"Give {_multiplier_for(rule.risk)}, or state another risk"
        raise ImpossibleInput(f"multiplier of the rule at a risk of {rule.risk}", rule.multiplier, cure)


DEFAULT_SHELF = Rule.by_risk("shelf-guarded", 1, "shelf", risk=Decimal("0.05"), at_the_end="plain")
"""What we accept: 1.645·u is passed by at most one in twenty at the limit (ISO 14253-1; from memory)."""

DEFAULT_CLAIM = Rule(
    code="claim-proved",
    version=1,
    purpose="claim",
    multiplier=Decimal(2),
    at_the_end="stays_close",
    kind="expanded",
)
"""What we can prove: outside by more than U = 2·u (ILAC-G8:2009; from memory)."""


def guard_factor(rule: Rule, *, dof: int | None = None) -> Decimal:
    """How many standard uncertainties wide the guard band is; ``dof`` None: the uncertainty is known.

    With ``dof`` degrees of freedom behind the uncertainty, the kinds "risk" and "expanded" take Student's t
    of the same one-sided risk. Raises ImpossibleInput for less than one degree of freedom.

    >>> five = Rule.by_risk("five-percent", 1, "shelf", risk=Decimal("0.05"))
    >>> guard_factor(five), guard_factor(five, dof=9)
    (Decimal('1.645'), Decimal('1.834'))
    """
    if dof is None:
        return rule.multiplier
    if dof < 1:
        raise ImpossibleInput("degrees of freedom", dof, "Give 1 or more, or none if it is known well")
    if rule.kind in ("multiple", "plain"):
        return rule.multiplier
    # Never narrower than with a known uncertainty, whatever the last digit of a t with a million.
    return max(rule.multiplier, _rounded_up(-float(stdtrit(dof, rule.risk_at_the_limit))))


def guard_nm(u_nm: float, rule: Rule, *, dof: int | None = None) -> int:
    """Width (whole nm, rounded up) of the guard band that the rule asks for at this uncertainty.

    >>> guard_nm(2_000_000.0, DEFAULT_SHELF)
    3290000
    """
    if not 0 <= u_nm < math.inf:
        raise ImpossibleInput("uncertainty", f"{u_nm} nm", "Give zero or more")
    return math.ceil(Fraction(guard_factor(rule, dof=dof)) * Fraction(u_nm))


def rule_document(rule: Rule) -> dict[str, Any]:  # Any: JSON
    """The rule as JSON values, to be stored with a verdict; a "multiple" is written as it always was.

    >>> rule_document(DEFAULT_CLAIM)["multiplier"], rule_document(DEFAULT_CLAIM)["kind"]
    ('2', 'expanded')
    """
    document = {**dataclasses.asdict(rule), "multiplier": str(rule.multiplier)}
    if rule.kind == "multiple":
        del document["kind"]
    if rule.risk is None:
        del document["risk"]
    else:
        document["risk"] = str(rule.risk)
    return document


def read_rule(document: Mapping[str, Any]) -> Rule:  # Any: JSON
    """The rule of a stored document, of whatever age.

    >>> read_rule(rule_document(DEFAULT_CLAIM)) == DEFAULT_CLAIM
    True
    """
    risk = document.get("risk")
    return Rule(
        **{
            **document,
            "multiplier": Decimal(document["multiplier"]),
            "risk": None if risk is None else Decimal(risk),
        }
    )
