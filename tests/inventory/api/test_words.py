"""Codes come with their words, and a re-labelled piece says that its verdict is of its old size."""

from __future__ import annotations

import pytest

from inventory.models.people import Role
from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from inventory.templatetags.verdicts import DISPOSITION_WORDS, VERDICT_WORDS
from tests import factories
from tests.factories import NOW, make_user
from tests.inventory.api.cast import client_of

pytestmark = pytest.mark.django_db


def test_a_relabelled_piece_is_told_in_code_and_words_and_counted_as_to_measure_again() -> None:
    piece = factories.make_piece(size_label="24")
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, {("WA", "L"): 25, ("WA", "R"): 25})
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    owner = make_user(Role.OWNER)
    decide_disposition(piece=piece, decision="relabel", new_size_label="26", by=owner, at=NOW)
    client = client_of()
    shown = client.get(f"/api/v1/pieces/{piece.label}/").json()
    assert (shown["standing"], shown["standing_words"]) == ("relabel", DISPOSITION_WORDS["relabel"])
    assert shown["to_measure_again"] is True
    assert (shown["verdict"]["shelf"], shown["verdict"]["shelf_words"]) == ("out", VERDICT_WORDS["out"])
    assert shown["verdict"]["claim_words"] == VERDICT_WORDS[shown["verdict"]["claim"]]
    (made,) = client.get(f"/api/v1/pieces/{piece.label}/dispositions/").json()["results"]
    assert (made["decision"], made["decision_words"]) == ("relabel", "re-labelled")
    counts = client.get(f"/api/v1/batches/{piece.batch.label}/").json()["counts"]
    assert counts["shelf"] == {"in": 0, "close": 0, "out": 0, "none": 0, "again": 1}
    assert sum(counts["shelf"].values()) == counts["pieces"]
    asked = {
        shelf: client.get(f"/api/v1/pieces/?shelf={shelf}").json()["results"] for shelf in ("again", "out")
    }
    assert [one["label"] for one in asked["again"]] == [piece.label]
    assert asked["out"] == []


def test_a_verdict_says_each_of_its_findings_in_code_and_words() -> None:
    sitting = factories.make_inspection(finished_at=NOW)
    factories.measure_all(sitting)
    verdict = judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    shown = client_of().get(f"/api/v1/verdicts/{verdict.pk}/").json()
    assert (shown["shelf"], shown["shelf_words"]) == ("in", "in tolerance")
    found = [one for point in shown["points"] for one in point["findings"]]
    assert found
    assert all(one["shelf_words"] == VERDICT_WORDS[one["shelf"]] for one in found)
    assert all(one["claim_words"] == VERDICT_WORDS[one["claim"]] for one in found)
