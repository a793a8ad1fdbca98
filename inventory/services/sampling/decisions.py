"""Decide a batch by its sample: a record of what decided, and of what the sample says of the rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import transaction

from inventory.access import Deed, require
from inventory.calc.sampling.attributes import Decision
from inventory.models import Batch, BatchDecision
from inventory.queries.sampling.found import COUNTED_WORDS
from inventory.queries.sampling.rest import as_document, said_of_rest
from inventory.queries.sampling.standing import SampleStanding, sampling_of, standing_of_sample
from inventory.services.audit import leave_row
from inventory.services.sampling.refusals import DecidedAlready, NoSample, NotDecidedYet

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


@transaction.atomic
def decide_batch(*, batch: Batch, original: bool = True, by: User, at: dt.datetime) -> BatchDecision:
    """Accept or refuse a batch as its sample says; the later severity follows from it.

    `original` False: the batch had been refused and was handed in again, which counts for no switching.
    Raises `NoSample`, `DecidedAlready`, `NotDecidedYet`.
    """
    require(by, Deed.DECIDE)
    batch = Batch.objects.select_for_update(of=("self",)).select_related("delivery", "style").get(pk=batch.pk)
    sampling = sampling_of(batch)
    if sampling is None:
        raise NoSample(f"{batch.label} has no sample. Draw one first, or decide its pieces one by one.")
    standing = standing_of_sample(batch, sampling)
    if standing.decided is not None:
        raise DecidedAlready(f"{batch.label} was {standing.decided.outcome} already. Its decision stays.")
    if standing.decision is None:
        raise NotDecidedYet(
            f"Every piece of {batch.label} is measured, so each goes by its own verdict: there is nothing to "
            "decide by a count."
        )
    if not standing.may_stop:
        raise NotDecidedYet(f"{batch.label} is not decided yet. {' '.join(standing.words)}")
    accepted = standing.decision is Decision.ACCEPT
    outcome = BatchDecision.Outcome.ACCEPTED if accepted else BatchDecision.Outcome.REFUSED
    made = BatchDecision.objects.create(
        sampling=sampling,
        outcome=outcome,
        original=original,
        document=_document(standing, accepted=accepted),
        decided_by=by,
        decided_at=at,
    )
    leave_row(
        who=by,
        deed="decide batch",
        subject=batch,
        at=at,
        outcome=outcome.value,
        words=list(standing.words),
        original=original,
    )
    return made


def _document(standing: SampleStanding, *, accepted: bool) -> dict[str, Any]:  # Any: JSON
    said = said_of_rest(standing)
    judged = standing.judged
    return {
        "accepted": accepted,
        "words": list(standing.words),
        "counted": COUNTED_WORDS,
        "classes": {
            str(one): {
                "decision": its.decision.value,
                "inspected": its.inspected,
                "bad": its.bad,
                "words": its.words,
            }
            for one, its in standing.classes.items()
        },
        "by_variables": None
        if judged is None
        else {
            "mean_nm": judged.mean_nm,
            "spread_nm": judged.spread_nm,
            "q_lower": judged.q_lower,
            "q_upper": judged.q_upper,
            "share_out": judged.out,
            "least": judged.least,
            "most": judged.most,
            "verdict": judged.verdict.value,
        },
        "stopped_early": standing.stopped_early,
        "pieces": {
            piece.label: {
                "position": piece.position,
                "shelf": piece.shelf,
                "claim": piece.claim,
                "class": str(piece.worst) if piece.worst else "",
            }
            for piece in standing.inspected
        },
        "rest": None if said is None else as_document(said),
    }
