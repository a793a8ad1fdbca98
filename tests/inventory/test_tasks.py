from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from unittest import mock

import pytest
from celery import current_app
from django.db import OperationalError, transaction
from django.utils import timezone
from kombu.exceptions import OperationalError as BrokerUnreachable
from pytest_django import Settings

from inventory import tasks
from inventory.calc.errors import CalcError
from inventory.models import Job
from inventory.services import jobs
from inventory.services.jobs import JobRefused, Json

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kinds_of_this_test_only() -> Iterator[None]:
    with mock.patch.dict(tasks._handlers):
        yield


def carried_out(kind: str = "draw") -> Job:
    job = jobs.request_job(kind, {"sheet": 7}, by=None)
    tasks.execute(job.pk)
    job.refresh_from_db()
    return job


def test_the_function_of_the_kind_does_the_work_and_its_answer_is_kept() -> None:
    @tasks.job("draw")
    def draw(job: Job) -> Json:
        return {"drawn": job.arguments["sheet"]}

    job = carried_out()
    assert (job.state, job.result, job.attempts) == ("done", {"drawn": 7}, 1)


def test_a_job_runs_once_however_often_it_is_announced() -> None:
    runs: list[int] = []

    @tasks.job("draw")
    def draw(job: Job) -> None:
        runs.append(job.pk)

    job = carried_out()
    tasks.execute(job.pk)
    assert runs == [job.pk]


def test_a_job_that_is_gone_is_left_quietly() -> None:
    tasks.execute(12345)


def test_a_function_may_finish_its_job_in_the_transaction_of_its_outcome() -> None:
    @tasks.job("draw")
    def draw(job: Job) -> Json:
        with transaction.atomic():
            jobs.hold_job(job)
            jobs.finish_job(job, {"with": "the outcome"})
        return {"not": "this"}

    assert carried_out().result == {"with": "the outcome"}


@pytest.mark.parametrize(
    "refusal", [JobRefused("Sheet 7 has no points."), CalcError("Sheet 7 has no points.")]
)
def test_a_refusal_reaches_the_person_in_its_own_words(refusal: Exception) -> None:
    @tasks.job("draw")
    def draw(job: Job) -> None:
        raise refusal

    job = carried_out()
    assert (job.state, job.error) == ("failed", "Sheet 7 has no points.")


def test_an_unforeseen_error_fails_the_job_names_itself_and_is_logged(
    caplog: pytest.LogCaptureFixture,
) -> None:
    @tasks.job("draw")
    def draw(job: Job) -> None:
        raise KeyError("waist")

    job = carried_out()
    assert job.state == "failed"
    assert "KeyError: 'waist'" in job.error
    assert f"job={job.pk}" in job.error
    assert "Traceback" in caplog.text


def test_database_trouble_is_tried_again_later() -> None:
    @tasks.job("draw")
    def draw(job: Job) -> None:
        if job.attempts == 1:
            raise OperationalError("database is locked")

    job = carried_out()
    assert (job.state, job.attempts) == ("running", 1)
    assert jobs.claim_next_job(timezone.now()) is None
    again = jobs.claim_next_job(timezone.now() + 2 * jobs.LEASE)
    assert again is not None
    tasks.carry_out(again)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.error) == ("done", 2, "")


def test_work_of_an_unknown_kind_fails_with_a_cure() -> None:
    job = carried_out("knit")
    assert job.state == "failed"
    assert "'knit'" in job.error
    assert "one version" in job.error


def test_a_run_overtaken_by_another_ends_without_touching_the_row() -> None:
    @tasks.job("draw")
    def draw(job: Job) -> Json:
        assert jobs.claim_next_job(timezone.now() + 2 * jobs.LEASE) is not None
        return {"from": "the old run"}

    job = carried_out()
    assert (job.state, job.attempts, job.result) == ("running", 2, {})


def test_a_stop_during_the_work_hands_the_job_back() -> None:
    @tasks.job("draw")
    def draw(job: Job) -> None:
        raise KeyboardInterrupt

    job = jobs.request_job("draw", {}, by=None)
    with pytest.raises(KeyboardInterrupt):
        tasks.execute(job.pk)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.lease_until) == ("waiting", 0, None)


def test_two_functions_for_one_kind_are_a_mistake_in_the_program() -> None:
    @tasks.job("draw")
    def draw(job: Job) -> None: ...

    with pytest.raises(RuntimeError, match="'draw'"):

        @tasks.job("draw")
        def paint(job: Job) -> None: ...


def test_without_a_broker_a_nudge_sends_nothing() -> None:
    with mock.patch.object(current_app, "send_task") as sent:
        tasks.nudge(jobs.request_job("draw", {}, by=None))
    sent.assert_not_called()


def test_with_a_broker_a_nudge_names_the_job(settings: Settings) -> None:
    settings.REDIS_URL = "redis://localhost:1/0"
    job = jobs.request_job("draw", {}, by=None)
    with mock.patch.object(current_app, "send_task") as sent:
        tasks.nudge(job)
    sent.assert_called_once_with("run_job", [job.pk], retry=False)


def test_a_broker_that_is_down_loses_nothing(settings: Settings, caplog: pytest.LogCaptureFixture) -> None:
    settings.REDIS_URL = "redis://localhost:1/0"
    job = jobs.request_job("draw", {}, by=None)
    with mock.patch.object(current_app, "send_task", side_effect=BrokerUnreachable("refused")):
        tasks.nudge(job)
    assert f"job={job.pk} not announced" in caplog.text
    assert jobs.claim_next_job(timezone.now()) == job


def test_the_sweep_announces_what_waits_and_what_was_cut_off(settings: Settings) -> None:
    settings.REDIS_URL = "redis://localhost:1/0"
    now = timezone.now()
    cut_off, in_hand, waiting, over = (jobs.request_job("draw", {}, by=None) for _ in range(4))
    jobs.claim_job(cut_off.pk, now - 2 * jobs.LEASE)
    jobs.claim_job(in_hand.pk, now)
    done = jobs.claim_job(over.pk, now)
    assert done is not None
    jobs.finish_job(done)
    with mock.patch.object(current_app, "send_task") as sent:
        assert tasks.sweep(now + timedelta(seconds=1)) == 2
    assert [call.args[1] for call in sent.call_args_list] == [[cut_off.pk], [waiting.pk]]
