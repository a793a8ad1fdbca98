"""What must be said with a decision about pieces, and what speaks against it for a piece."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from django.db.models import Exists, OuterRef
from django.db.models.functions import Coalesce

from inventory.access import Deed, NotAllowed, may
from inventory.calc.conformity import Verdict
from inventory.models import BatchDecision, Defect, Disposition, Piece, PieceVerdict
from inventory.models.pieces import Standing
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from inventory.models import User

WITH_INSPECTORS: Final = frozenset({Standing.HOLD, Standing.RELEASE})
GONE: Final = frozenset({Standing.RETURN, Standing.SCRAP})
REASON_ASKED: Final = {
    Standing.SECOND: "A second needs the reason that the buyer will be shown.",
    Standing.REWORK: "Rework needs a reason: what is to be done, and where.",
    Standing.RETURN: "A return needs a reason: what is wrong, in the words the maker will read.",
    Standing.SCRAP: "Scrapping needs a reason; say too if the piece is kept as evidence, and where.",
}
CONCESSION_ASKS: Final = {
    "agreed_with": "A concession needs the name of who agreed to it.",
    "ends_on": "A concession needs the day it ends; it never becomes the new spec.",
}
NOT_DRAWN: Final = {
    "undecided": "was not drawn, and the sample has not decided its batch",
    BatchDecision.Outcome.REFUSED.value: "was not drawn, and the sample refused its batch: measure it",
}
ON_THE_SAMPLE: Final = "On the sample: the batch was accepted, this piece was not measured."
_SHOWN: Final = 8


class DispositionRefused(Refused):
    """The decision lacks something, or does not fit a piece."""


def standing_of(decision: str) -> Standing:
    """The decision as one of the eight; refused when it is none of them."""
    try:
        return Standing(decision)
    except ValueError:
        known = ", ".join(Standing.values)
        raise DispositionRefused(
            f"{decision!r} is no decision. Use one of: {known}.", field="decision"
        ) from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What was decided, and what has to be recorded with it."""

    decision: Standing
    reason: str = ""
    agreed_with: str = ""
    ends_on: dt.date | None = None
    new_size_label: str = ""


def check_words(decision: Decision, *, today: dt.date) -> None:
    """What must be said with a decision whatever the piece, and what has no place in it."""
    kind, reason = decision.decision, decision.reason
    if kind in REASON_ASKED and not reason:
        raise DispositionRefused(REASON_ASKED[kind], field="reason")
    if kind == Standing.CONCESSION:
        for name, sentence in CONCESSION_ASKS.items():
            if not getattr(decision, name):
                raise DispositionRefused(sentence, field=name)
    elif decision.agreed_with:
        raise DispositionRefused(
            f"Only a concession is agreed with somebody. Clear {decision.agreed_with!r}, or choose "
            "Concession.",
            field="agreed_with",
        )
    _check_day(decision, today=today)
    if kind == Standing.RELABEL and not decision.new_size_label:
        raise DispositionRefused("A re-label needs the size the piece really is.", field="new_size_label")
    if kind != Standing.RELABEL and decision.new_size_label:
        raise DispositionRefused(
            f"Only a re-label names a size. Clear {decision.new_size_label!r}, or choose Re-label.",
            field="new_size_label",
        )
    for name, text, most in (("reason", reason, 300), ("agreed_with", decision.agreed_with, 120)):
        if len(text) > most:
            raise DispositionRefused(
                f"{len(text)} characters are too many here; the place holds {most}. Shorten it.", field=name
            )


def _check_day(decision: Decision, *, today: dt.date) -> None:
    if decision.ends_on is None:
        return
    if decision.decision not in {Standing.CONCESSION, Standing.HOLD}:
        raise DispositionRefused(
            "Only a concession or a hold has an end. Clear the date, or choose one of these.", field="ends_on"
        )
    if decision.ends_on <= today:
        raise DispositionRefused(
            f"The end, {decision.ends_on.isoformat()}, is not in the future. Name a later day.",
            field="ends_on",
        )


@dataclass(slots=True)
class _Known:
    """What speaks for or against releasing a piece."""

    verdict: str = ""
    measured_at: dt.datetime | None = None
    sent_to_rework_at: dt.datetime | None = None
    grave_defects: list[str] = field(default_factory=list)
    sample_says: str = ""  # of a piece that was not drawn: "accepted", "refused", "undecided"

    @property
    def on_the_sample(self) -> bool:
        """Whether it may be released without a verdict: its batch was accepted, and it was not drawn."""
        return self.sample_says == BatchDecision.Outcome.ACCEPTED

    @property
    def against(self) -> str:
        """Why the piece does not release itself; empty when all is in order."""
        if not self.verdict and not self.on_the_sample:
            return NOT_DRAWN.get(self.sample_says, "is not judged yet")
        if self.verdict and self.verdict != Verdict.IN:
            return "is out of tolerance" if self.verdict == Verdict.OUT else "is too close to call"
        if self.sent_to_rework_at and not (self.measured_at and self.measured_at > self.sent_to_rework_at):
            return "was not measured again after its rework"
        if self.grave_defects:
            return f"has a defect: {self.grave_defects[0]}"
        return ""


def _known_of(pieces: Sequence[Piece]) -> dict[int, _Known]:
    keys = [piece.pk for piece in pieces]
    known = {key: _Known() for key in keys}
    verdicts = PieceVerdict.objects.filter(piece__in=keys, is_current=True)
    # Not when it was judged: a corrected size judges old readings anew, and they are still from before.
    measured = verdicts.values_list("piece_id", "shelf", Coalesce("inspection__finished_at", "judged_at"))
    for piece_id, shelf, measured_at in measured:
        known[piece_id].verdict, known[piece_id].measured_at = shelf, measured_at
    rework = Disposition.objects.filter(piece__in=keys, decision=Standing.REWORK).order_by("id")
    for piece_id, decided_at in rework.values_list("piece_id", "decided_at"):
        known[piece_id].sent_to_rework_at = decided_at
    sampled = Piece.objects.filter(pk__in=keys, drawn__isnull=True, batch__sampling__isnull=False)
    for piece_id, outcome in sampled.values_list("pk", "batch__sampling__decision__outcome"):
        known[piece_id].sample_says = outcome or "undecided"
    grave = Defect.objects.filter(piece__in=keys).exclude(severity=Defect.Severity.MINOR)
    for piece_id, kind, severity in grave.values_list("piece_id", "kind", "severity"):
        if piece_id is not None:
            known[piece_id].grave_defects.append(f"{kind} ({severity})")
    return known


def released_on_the_sample(pieces: Sequence[Piece]) -> frozenset[int]:
    """Keys of the pieces that were neither drawn nor judged, of batches their sample accepted."""
    judged = PieceVerdict.objects.filter(piece=OuterRef("pk"), is_current=True)
    left = Piece.objects.filter(
        ~Exists(judged),
        pk__in=[piece.pk for piece in pieces],
        drawn__isnull=True,
        batch__sampling__decision__outcome=BatchDecision.Outcome.ACCEPTED,
    )
    return frozenset(left.values_list("pk", flat=True))


def objections(pieces: Sequence[Piece], decision: Decision, *, by: User) -> list[tuple[str, str]]:
    """Label and objection of each piece the decision does not fit."""
    if decision.decision == Standing.RELABEL:
        return _objections_to_size(pieces, decision.new_size_label)
    if decision.decision not in WITH_INSPECTORS:
        return []
    owner = may(by, Deed.DECIDE)
    if not owner:
        _refuse_to_undo_the_owner(pieces, decision, by=by)
    if decision.decision == Standing.HOLD:
        return []
    known = _known_of(pieces)
    found = []
    for piece in pieces:
        against = known[piece.pk].against
        if piece.standing == Standing.RELEASE:
            found.append((piece.label, "is released already"))
        elif against and not owner:
            found.append((piece.label, f"{against}: only the owner may release it, with a reason"))
        elif against and not decision.reason:
            found.append((piece.label, f"{against}: say why it is released all the same"))
    return found


def _refuse_to_undo_the_owner(pieces: Sequence[Piece], decision: Decision, *, by: User) -> None:
    """What the owner decided stands until the owner decides again; only holding is always open."""
    mine = {Standing.HOLD, Standing.RELEASE, Standing.REWORK}
    if decision.decision == Standing.HOLD:
        mine |= set(Standing) - GONE
    if any(piece.standing not in mine for piece in pieces):
        raise NotAllowed(by, Deed.DECIDE)


def _objections_to_size(pieces: Sequence[Piece], size_label: str) -> list[tuple[str, str]]:
    by_spec: dict[int, list[str]] = {}
    found = []
    for piece in pieces:
        spec = piece.batch.spec
        if spec.pk not in by_spec:
            by_spec[spec.pk] = list(spec.sizes.values_list("label", flat=True))
        if size_label not in by_spec[spec.pk]:
            sizes = ", ".join(by_spec[spec.pk])
            found.append((piece.label, f"size {size_label!r} is not in spec {spec}, which has {sizes}"))
        elif size_label == piece.size_label:
            found.append((piece.label, f"carries size {size_label} already"))
    return found


def refuse_any(objections: Sequence[tuple[str, str]]) -> None:
    if not objections:
        return
    said = "; ".join(f"{label} {why}" for label, why in objections[:_SHOWN])
    more = len(objections) - _SHOWN
    rest = f"; and {more} more" if more > 0 else ""
    raise DispositionRefused(f"Nothing was decided. {said}{rest}.")
