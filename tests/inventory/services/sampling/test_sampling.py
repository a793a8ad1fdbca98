"""From what was agreed to the decision on a batch: plan, draw, measuring, decision, switching."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

import pytest

from inventory.access import NotAllowed
from inventory.calc.sampling.attributes import DefectClass
from inventory.calc.sampling.draw import DrawKind, DrawPiece, draw
from inventory.models import AuditRow, BatchDecision, BatchSampling, DrawnPiece, SamplingScheme
from inventory.models.findings import Flag
from inventory.models.people import Role
from inventory.models.sampling_plans import read_plan, write_plan
from inventory.queries.sampling.asked_for import not_asked_for
from inventory.queries.sampling.planning import proposal_for
from inventory.queries.sampling.rest import said_of_rest
from inventory.queries.sampling.schemes import scheme_for
from inventory.queries.sampling.standing import sampling_of, standing_of_sample
from inventory.services.sampling.decisions import decide_batch
from inventory.services.sampling.draws import draw_sample
from inventory.services.sampling.notes import note_switching
from inventory.services.sampling.refusals import (
    CannotDraw,
    DecidedAlready,
    DrawnAlready,
    NoSample,
    NotDecidedYet,
    NoteRefused,
    SchemeRefused,
)
from tests import factories
from tests.factories import NOW
from tests.inventory.services.sampling.cast import (
    SEED,
    agreed,
    big_batch,
    decided,
    drawn,
    later,
    measure,
)

if TYPE_CHECKING:
    from inventory.models import Batch, User
    from inventory.queries.sampling.standing import SampleStanding

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return factories.make_user(Role.OWNER)


@pytest.fixture
def inspector() -> User:
    return factories.make_user(Role.INSPECTOR)


def _standing(batch: Batch) -> SampleStanding:
    sampling = sampling_of(batch)
    assert sampling is not None
    return standing_of_sample(batch, sampling)


# what was agreed


def test_the_closest_agreement_holds_and_the_newest_of_it() -> None:
    batch = big_batch(3)
    maker, style = batch.delivery.maker, batch.style
    assert scheme_for(maker.pk, style.pk) is None
    agreed()
    assert scheme_for(maker.pk, style.pk).maker is None  # type: ignore[union-attr]
    agreed(batch, level="I")
    agreed(batch, style=style, level="III")
    newest = agreed(batch, style=style, level="S-4")
    agreed(batch, level="II")
    assert scheme_for(maker.pk, style.pk) == newest
    assert scheme_for(maker.pk, factories.make_style().pk).level == "II"  # type: ignore[union-attr]
    assert SamplingScheme.objects.count() == 5


@pytest.mark.parametrize(
    ("values", "says", "field"),
    [
        ({"aql_major": Decimal(3)}, "3, which the tables do not have. Take 2.5 or 4", "aql_major"),
        ({"aql_major": Decimal(15)}, "counts defects per 100", "aql_major"),
        ({"aql_major": None, "aql_minor": None}, "an AQL is needed", "aql_major"),
        ({"aql_major": Decimal(4), "aql_minor": Decimal("2.5")}, "stricter than 4 for major", "aql_minor"),
        ({"rota_batches": 1}, "A rota over 1 batches is none", "rota_batches"),
        ({"kind": "by_risk"}, "two shares and two risks", "producer_quality"),
        (
            {
                "kind": "by_risk",
                "producer_quality": 5,
                "producer_risk": 5,
                "consumer_quality": 4,
                "consumer_risk": 10,
            },
            "Give a share above the good one",
            "producer_quality",
        ),
        ({"kind": "variables"}, "one point is judged", "point"),
        ({"reason": " "}, "Say why", "reason"),
    ],
)
def test_an_agreement_that_cannot_be_kept_is_refused(
    values: dict[str, object], says: str, field: str
) -> None:
    from inventory.services.sampling.schemes import set_scheme  # noqa: PLC0415  # with the reason given here

    usual: dict[str, object] = {
        "kind": "attributes",
        "aql_major": Decimal("2.5"),
        "aql_minor": Decimal("4.0"),
        "reason": "agreed",
    }
    with pytest.raises(SchemeRefused, match=says) as refused:
        set_scheme(by=factories.make_user(Role.OWNER), at=NOW, **usual | values)  # type: ignore[arg-type]
    assert refused.value.field == field
    assert not SamplingScheme.objects.exists()


def test_only_the_owner_sets_an_agreement(inspector: User) -> None:
    with pytest.raises(NotAllowed):
        agreed(by=inspector)


# the plan


def test_up_to_the_shops_size_every_piece_is_measured_and_above_by_the_plan() -> None:
    agreed()
    small, large = big_batch(50), big_batch(120)
    whole, plan = proposal_for(small).plan, proposal_for(large).plan
    assert whole is not None
    assert plan is not None
    assert whole.every_piece
    assert "Up to 50 pieces every one is measured" in whole.why[0]
    # MIL-STD-105E, Table I: 91 to 150 at level II is letter F, 20 pieces; Table II-A: AQL 2.5 Ac 1 Re 2.
    major = plan.classes[DefectClass.MAJOR]
    assert (plan.first, major.letter, major.plan.accept, major.plan.reject) == (20, "F", 1, 2)
    assert plan.classes[DefectClass.CRITICAL].plan.accept == 0
    assert plan.severity == "normal"
    assert "120 pieces are more than the 50" in plan.why[0]


def test_without_an_agreement_every_piece_is_measured() -> None:
    plan = proposal_for(big_batch(120)).plan
    assert plan is not None
    assert plan.every_piece
    assert "No sampling was agreed on" in plan.why[0]


def test_a_plan_is_read_back_as_it_was_written() -> None:
    batch = big_batch(300)
    agreed(batch, stages="double")
    plan = proposal_for(batch).plan
    assert plan is not None
    assert plan.most == 2 * plan.first
    assert read_plan(write_plan(plan)) == plan


def test_a_plan_by_risk_is_the_smallest_for_the_batch() -> None:
    batch = big_batch(120)
    risks = {"producer_quality": 1, "producer_risk": 5, "consumer_quality": 6, "consumer_risk": 10}
    as_agreed: dict[str, Any] = {name: Decimal(share) for name, share in risks.items()}  # Any: any value
    agreed(batch, kind="by_risk", **as_agreed)
    plan = proposal_for(batch).plan
    assert plan is not None
    # The same plan as in the calculation's own example: 48 pieces, accept with 1.
    assert (plan.first, plan.classes[DefectClass.MAJOR].plan.accept) == (48, 1)


# the draw


def test_the_maker_can_repeat_the_draw_from_the_seed(inspector: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch, by=inspector)
    pieces = [DrawPiece(p.label, p.carton, p.size_label, p.colour) for p in batch.pieces.all()]
    again = draw(pieces, number=20, seed=int(SEED), kind=DrawKind.SPREAD)
    assert [row.piece.label for row in sample.pieces] == list(again.labels)
    assert sample.sampling.seed == SEED
    assert f'"{SEED}:" followed by each label' in sample.sampling.document["how_to_repeat"]
    assert {row.stratum for row in sample.pieces} >= {"carton 1, size 22, ivory"}
    assert AuditRow.objects.filter(deed="draw sample", who=inspector).exists()


def test_a_seed_is_made_where_none_is_typed(inspector: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    assert draw_sample(batch=batch, by=inspector, at=NOW).sampling.seed.isdecimal()


@pytest.mark.parametrize(
    ("seed", "kind", "says"),
    [
        ("lucky", "spread", "'lucky' is no whole number"),
        ("-1", "random", "no whole number"),
        ("1" * 30, "random", "no whole number"),
        ("1", "picked", "'picked' is no way to draw. Use one of: random, spread"),
    ],
)
def test_a_draw_that_nobody_could_repeat_is_refused(seed: str, kind: str, says: str, inspector: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    with pytest.raises(CannotDraw, match=says):
        draw_sample(batch=batch, seed=seed, kind=kind, by=inspector, at=NOW)
    assert not BatchSampling.objects.exists()


def test_a_batch_is_drawn_from_once_and_only_by_an_agreement(inspector: User) -> None:
    batch = big_batch(120)
    with pytest.raises(CannotDraw, match="Set the sampling of the maker first"):
        drawn(batch, by=inspector)
    agreed(batch)
    drawn(batch, by=inspector)
    with pytest.raises(DrawnAlready, match="with seed 20261125"):
        drawn(batch, by=inspector)
    with pytest.raises(NotAllowed):
        drawn(big_batch(60), by=factories.make_user(Role.VIEWER))
    assert DrawnPiece.objects.count() == 20


def test_the_bench_asks_only_for_the_drawn_pieces_until_the_batch_is_refused(owner: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    assert not_asked_for(batch) == frozenset()
    sample = drawn(batch)
    assert len(not_asked_for(batch)) == 100
    measure(sample, out={1, 2})
    decide_batch(batch=batch, by=owner, at=later(1))
    assert not_asked_for(batch) == frozenset()


def test_the_second_sample_is_asked_for_once_the_first_is_judged() -> None:
    batch = big_batch(300)
    agreed(batch, stages="double")
    sample = drawn(batch)
    first = read_plan(sample.sampling.document).first
    assert len(not_asked_for(batch)) == 300 - first
    measure(sample, upto=first, out={1, 2})
    assert len(not_asked_for(batch)) == 300 - 2 * first
    standing = _standing(batch)
    assert not standing.may_stop
    assert [piece.stage for piece in standing.asked] == [2] * first


# the decision


def test_nothing_is_decided_before_nothing_can_change(owner: User, inspector: User) -> None:
    batch = big_batch(120)
    with pytest.raises(NoSample):
        decide_batch(batch=batch, by=owner, at=NOW)
    agreed(batch)
    sample = drawn(batch)
    measure(sample, upto=5, out={2})
    with pytest.raises(NotDecidedYet, match="1 bad in 5 pieces: not decided"):
        decide_batch(batch=batch, by=owner, at=NOW)
    factories.make_verdict(sample.pieces[5].piece, shelf="out")
    standing = _standing(batch)
    assert standing.stopped_early
    assert "refused, whatever the other 14 show" in standing.words[0]
    assert not standing.asked
    with pytest.raises(NotAllowed):
        decide_batch(batch=batch, by=inspector, at=NOW)
    made = decide_batch(batch=batch, by=owner, at=NOW)
    assert made.outcome == BatchDecision.Outcome.REFUSED
    assert made.document["classes"]["major"] | {"words": ""} == {
        "decision": "refuse",
        "inspected": 6,
        "bad": 2,
        "words": "",
    }
    with pytest.raises(DecidedAlready):
        decide_batch(batch=batch, by=owner, at=NOW)
    assert "measure the 114 pieces left" in standing.screening_words


def test_defects_count_by_their_class_and_a_piece_once(owner: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample, out={1})
    factories.make_defect(sample.pieces[0].piece, severity="minor")
    factories.make_defect(sample.pieces[1].piece, severity="minor")
    standing = _standing(batch)
    assert standing.classes[DefectClass.MAJOR].bad == 1
    assert standing.classes[DefectClass.MINOR].bad == 1
    assert decide_batch(batch=batch, by=owner, at=NOW).outcome == "accepted"


def test_one_critical_defect_refuses_the_batch_even_on_a_piece_that_was_not_drawn(owner: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample)
    undrawn = batch.pieces.exclude(pk__in=[row.piece_id for row in sample.pieces])[0]
    factories.make_defect(undrawn, severity="critical")
    assert _standing(batch).words == (
        f"A critical defect was found on {undrawn.label}: refused, in the sample or not.",
    )
    assert decide_batch(batch=batch, by=owner, at=NOW).outcome == "refused"


def test_too_close_to_call_does_not_refuse_but_is_not_taken_for_good_either() -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample)
    clean = said_of_rest(_standing(batch))
    factories.make_verdict(sample.pieces[0].piece, shelf="close")
    standing = _standing(batch)
    said = said_of_rest(standing)
    assert standing.classes[DefectClass.MAJOR].bad == 0
    assert clean is not None
    assert said is not None
    assert said.left_limits.among_left.most > clean.left_limits.among_left.most
    assert said.claim == clean.claim
    assert clean.careful is not None
    assert said.careful is None  # a toss of the coin counted as bad would make the chance wrong


def test_a_piece_in_by_its_mean_alone_makes_the_limit_careful_and_no_chance_is_told() -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample)
    row = ["L", 361_000_000, 1_800_000, 3_000_000, 3_600_000, 4, "in", "close", 0, 0]
    row[9] = int(Flag.DECIDING | Flag.BY_FINAL_RULE)
    factories.make_verdict(sample.pieces[0].piece, shelf="in", findings={"WA": [row]})
    said = said_of_rest(_standing(batch))
    assert said is not None
    assert said.careful is None
    assert said.careful_words == ""
    assert "1 of the 20 measured" in said.left
    assert said.left.endswith("1 of them too close to call, or in by their mean alone after all repeats.")


def test_the_sentence_on_the_rest_is_for_the_batch_and_allows_for_wrong_calls(owner: User) -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample, out={1, 2, 3, 4})
    made = decide_batch(batch=batch, by=owner, at=NOW)
    rest = made.document["rest"]
    assert rest["claim"].startswith("Of 120 pieces 20 were measured and 4 are out beyond doubt; at 95 %")
    assert rest["claim"].endswith(f"at least {rest['at_least_out']} of the 120 are out.")
    assert rest["agreed_quality"].startswith("Agreed: at most 2.5 % bad, 3 of 120.")
    assert 0 < rest["at_least_out"] <= 24
    assert rest["chance_of_agreed_quality"] < 0.05


def test_what_one_reading_proves_counts_for_the_batch_only_if_the_whole_piece_is_beyond_doubt() -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample, out={1, 2})
    # 2.1 uncertainties beyond its limit: out by the claim rule, for one value looked at once.
    row = ["L", 365_000_000, 1_800_000, 3_000_000, 3_600_000, 1, "out", "out", 3_780_000, int(Flag.DECIDING)]
    factories.make_verdict(sample.pieces[2].piece, shelf="out", findings={"WA": [row]})
    said = said_of_rest(_standing(batch))
    assert said is not None
    assert said.claim_limits.sample.bad == 2
    assert said.left_limits.sample.bad == 3
    assert "any piece in tolerance is then counted with at most 1 %" in said.assumptions[0]
    # 1 % over 20 pieces and one value each, at one look, would be 3.29; up to four looks ask for more.
    assert 3.29 < float(said.assumptions[0].split("at least ")[1].split()[0]) < 4


def test_what_the_mean_alone_decided_is_not_in_beyond_doubt() -> None:
    batch = big_batch(120)
    agreed(batch)
    sample = drawn(batch)
    measure(sample)
    flags = int(Flag.DECIDING | Flag.BY_FINAL_RULE)
    row = ["L", 358_000_000, 900_000, 1_500_000, 1_800_000, 4, "in", "close", -500_000, flags]
    factories.make_verdict(sample.pieces[0].piece, shelf="in", findings={"WA": [row]})
    said = said_of_rest(_standing(batch))
    assert said is not None
    assert (said.claim_limits.sample.bad, said.left_limits.sample.bad) == (0, 1)


# switching


def test_two_refused_of_five_tighten_the_next_and_say_why(owner: User) -> None:
    maker, spec = factories.make_maker(), factories.make_spec()
    outs: tuple[set[int], ...] = (set(), {1, 2}, set(), {3, 4})
    batches = [big_batch(120, maker=maker, spec=spec, days=day) for day in range(5)]
    agreed(batches[0])
    for day, out in enumerate(outs):
        assert proposal_for(batches[day]).plan.severity == "normal"  # type: ignore[union-attr]
        decided(batches[day], owner, out=out, days=day)
    plan = proposal_for(batches[4]).plan
    assert plan is not None
    assert plan.severity == "tightened"
    why = f"2 of 3 batches in a row were refused: {batches[1].label} and {batches[3].label}."
    assert plan.classes[DefectClass.MAJOR].why == why
    assert f"Major: {why}" in plan.why
    # Table II-B: letter F at AQL 2.5 tightened has no plan of its own; the arrow leads to G, 32 pieces, 1/2.
    assert (plan.classes[DefectClass.MAJOR].plan.size, plan.classes[DefectClass.MAJOR].plan.accept) == (32, 1)
    assert any("the arrow leads to letter G" in note for note in plan.notes)
    # minor was decided in none of the refused ones: it stays normal
    assert plan.classes[DefectClass.MINOR].severity == "normal"


def test_a_batch_handed_in_again_does_not_count(owner: User) -> None:
    maker, spec = factories.make_maker(), factories.make_spec()
    batches = [big_batch(60, maker=maker, spec=spec, days=day) for day in range(3)]
    agreed(batches[0])
    decided(batches[0], owner, out={1, 2}, days=0)
    sample = drawn(batches[1], days=1)
    measure(sample, out={1, 2})
    decide_batch(batch=batches[1], original=False, by=owner, at=later(2))
    assert proposal_for(batches[2]).plan.severity == "normal"  # type: ignore[union-attr]


def test_reduced_needs_ten_accepted_and_a_persons_word(owner: User) -> None:
    maker, spec = factories.make_maker(), factories.make_spec()
    batches = [big_batch(60, maker=maker, spec=spec, days=day) for day in range(11)]
    agreed(batches[0], aql_major=Decimal(4), aql_minor=Decimal("6.5"))
    for day in range(10):
        decided(batches[day], owner, days=day)
    assert proposal_for(batches[10]).plan.severity == "normal"  # type: ignore[union-attr]
    style = spec.style
    for kind in ("steady", "reduced_wanted"):
        note_switching(maker=maker, style=style, kind=kind, note="visited them", by=owner, at=later(11))
    proposal = proposal_for(batches[10])
    assert proposal.plan is not None
    assert proposal.switching[DefectClass.MAJOR].severity == "reduced"
    assert "were all accepted" in proposal.plan.classes[DefectClass.MAJOR].why


@pytest.mark.parametrize(("kind", "note", "field"), [("lucky", "so", "kind"), ("steady", " ", "note")])
def test_a_note_without_words_or_kind_is_refused(kind: str, note: str, field: str, owner: User) -> None:
    batch = big_batch(1)
    with pytest.raises(NoteRefused) as refused:
        note_switching(maker=batch.delivery.maker, style=batch.style, kind=kind, note=note, by=owner, at=NOW)
    assert refused.value.field == field
