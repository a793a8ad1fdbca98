from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from inventory.models import Job
from inventory.models.jobs import JobState
from inventory.services import jobs
from inventory.services.jobs import JobLost
from tests.conftest import ShopFolder
from tests.inventory.services.job_programs import DRAW_AND_HANG, PREAMBLE, TAKE_ALL, program, race

pytestmark = pytest.mark.django_db


def waiting(kind: str = "draw", **values: str) -> Job:
    return jobs.request_job(kind, {"batch": 3}, by=None, **values)


def taken() -> Job:
    waiting()
    job = jobs.claim_next_job(timezone.now())
    assert job is not None
    return job


def test_a_request_is_a_waiting_row_with_its_arguments() -> None:
    job = Job.objects.get(pk=waiting().pk)
    assert (job.kind, job.arguments, job.state, job.attempts) == ("draw", {"batch": 3}, "waiting", 0)
    assert job.percent is None


def test_an_open_job_of_the_same_key_is_given_back_instead_of_a_second() -> None:
    first = waiting(dedupe_key="sheet 7")
    assert waiting(dedupe_key="sheet 7") == first
    assert waiting(dedupe_key="sheet 8") != first
    assert Job.objects.count() == 2


def test_a_key_is_free_again_once_its_job_is_over() -> None:
    waiting(dedupe_key="sheet 7")
    first = jobs.claim_next_job(timezone.now())
    assert first is not None
    assert waiting(dedupe_key="sheet 7") == first
    jobs.finish_job(first)
    assert waiting(dedupe_key="sheet 7") != first


def test_the_database_itself_refuses_a_second_open_job_of_a_key() -> None:
    waiting(dedupe_key="sheet 7")
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.create(kind="draw", dedupe_key="sheet 7")


def test_jobs_without_a_key_do_not_hinder_one_another() -> None:
    assert waiting() != waiting()


def test_the_oldest_waiting_job_is_taken_first_and_once() -> None:
    first, second = waiting(), waiting()
    now = timezone.now()
    assert [jobs.claim_next_job(now), jobs.claim_next_job(now), jobs.claim_next_job(now)] == [
        first,
        second,
        None,
    ]


def test_a_taken_job_carries_its_lease_and_attempt() -> None:
    job = waiting()
    now = timezone.now()
    jobs.claim_next_job(now)
    job.refresh_from_db()
    assert (job.state, job.attempts, job.lease_until, job.started_at) == ("running", 1, now + jobs.LEASE, now)


def test_a_job_whose_lease_ran_out_is_taken_again_and_not_a_moment_before() -> None:
    waiting()
    now = timezone.now()
    assert jobs.claim_next_job(now) is not None
    assert jobs.claim_next_job(now + jobs.LEASE) is None
    again = jobs.claim_next_job(now + jobs.LEASE + timedelta(microseconds=1))
    assert again is not None
    assert again.attempts == 2


def test_a_job_cut_off_three_times_is_failed_with_a_cure() -> None:
    job = waiting()
    now = timezone.now()
    for _ in range(jobs.MOST_ATTEMPTS):
        assert jobs.claim_next_job(now) == job
        now += jobs.LEASE + timedelta(seconds=1)
    later = waiting()
    assert jobs.claim_next_job(now) == later
    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "3 attempts" in job.error
    assert "ask for it again" in job.error


def test_one_job_can_be_taken_by_number_unless_it_is_gone_over_or_in_hand() -> None:
    first, second = waiting(), waiting()
    now = timezone.now()
    assert jobs.claim_job(second.pk, now) == second
    assert jobs.claim_job(second.pk, now) is None
    assert jobs.claim_job(first.pk + 1000, now) is None
    taken_first = jobs.claim_job(first.pk, now)
    assert taken_first is not None
    jobs.finish_job(taken_first)
    assert jobs.claim_job(first.pk, now + timedelta(days=1)) is None


def test_looking_for_work_when_there_is_none_takes_one_statement_and_no_transaction(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    with django_assert_num_queries(1) as asked:
        assert jobs.claim_next_job(timezone.now()) is None
    assert asked.captured_queries[0]["sql"].startswith("SELECT")


def test_progress_is_in_the_row_and_renews_the_lease() -> None:
    job = taken()
    Job.objects.update(lease_until=timezone.now())
    jobs.report_progress(job, 30, 120, "judging")
    seen = Job.objects.get()
    assert (seen.done, seen.total, seen.words, seen.percent) == (30, 120, "judging", 25)
    assert seen.lease_until is not None
    assert seen.lease_until > timezone.now() + jobs.LEASE / 2


def test_progress_told_for_every_row_writes_rarely_but_always_the_end(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    job = taken()
    with django_assert_max_num_queries(20):
        for row in range(1, 5001):
            jobs.report_progress(job, row, 5000, "reading")
    assert Job.objects.get().done == 5000


def test_a_run_that_was_taken_over_can_write_nothing_any_more() -> None:
    old = taken()
    new = jobs.claim_next_job(timezone.now() + 2 * jobs.LEASE)
    assert new is not None
    writes: list[Callable[[], None]] = [
        lambda: jobs.report_progress(old, 1, 1),
        lambda: jobs.renew_lease(old, timezone.now()),
        lambda: jobs.hold_job(old),
        lambda: jobs.finish_job(old, {"rows": 1}),
        lambda: jobs.fail_job(old, "late"),
        lambda: jobs.retry_job(old, "late", timezone.now()),
        lambda: jobs.release_job(old),
    ]
    for write in writes:
        with pytest.raises(JobLost):
            write()
    job = Job.objects.get()
    assert (job.state, job.attempts, job.done, job.error) == ("running", 2, 0, "")


def test_finishing_keeps_the_result_and_ends_the_lease() -> None:
    jobs.finish_job(taken(), {"file": "sheet.pdf"})
    job = Job.objects.get()
    assert (job.state, job.result, job.lease_until, job.percent) == ("done", {"file": "sheet.pdf"}, None, 100)
    assert job.finished_at is not None
    with pytest.raises(JobLost):
        jobs.finish_job(job)


def test_outcome_and_finish_are_written_together_or_not_at_all() -> None:
    job = taken()

    def write_and_break() -> None:
        with transaction.atomic():
            jobs.hold_job(job)
            jobs.finish_job(job)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_and_break()
    assert Job.objects.get().state == JobState.RUNNING


@pytest.mark.django_db(transaction=True)
def test_holding_outside_a_transaction_is_a_mistake_in_the_program() -> None:
    with pytest.raises(RuntimeError, match="atomic"):
        jobs.hold_job(taken())


def test_a_passing_fault_is_tried_again_after_a_while_and_not_for_ever() -> None:
    waiting()
    now = timezone.now()
    for attempt in range(1, jobs.MOST_ATTEMPTS + 1):
        job = jobs.claim_next_job(now)
        assert job is not None
        assert job.attempts == attempt
        jobs.retry_job(job, "No answer.", now)
        assert jobs.claim_next_job(now) is None
        now += 2 * jobs.LEASE
    failed = Job.objects.get()
    assert (failed.state, failed.error) == ("failed", "No answer. Tried 3 times.")


def test_a_job_handed_back_at_a_stop_has_not_used_up_an_attempt() -> None:
    for _ in range(5):
        jobs.release_job(taken() if not Job.objects.exists() else _take_again())
    job = Job.objects.get()
    assert (job.state, job.attempts) == ("waiting", 0)


def _take_again() -> Job:
    job = jobs.claim_next_job(timezone.now())
    assert job is not None
    return job


# --- real processes on one real SQLite file ------------------------------------------------------------


def test_processes_racing_for_jobs_on_one_file_each_get_their_own(shop_folder: ShopFolder) -> None:
    shop_folder.run("-c", PREAMBLE + "for n in range(60): jobs.request_job('draw', {'n': n}, by=None)")
    shares = race([program(TAKE_ALL, shop_folder) for _ in range(3)])
    assert sum(bool(share) for share in shares) > 1, "They did not race."
    assert sorted(number for share in shares for number in share) == list(range(1, 61))
    assert shop_folder.rows("SELECT DISTINCT state, attempts FROM inventory_job") == [("done", 1)]


def test_a_job_whose_runner_is_killed_outright_is_done_by_another(shop_folder: ShopFolder) -> None:
    shop_folder.run("-c", PREAMBLE + "jobs.request_job('draw', {}, by=None)")
    with program(DRAW_AND_HANG, shop_folder) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "1\n"
        first.kill()
    with program(DRAW_AND_HANG, shop_folder) as second:
        assert second.communicate(timeout=60)[0] == "2\n"
    assert shop_folder.rows("SELECT state, attempts, result FROM inventory_job") == [
        ("done", 2, '{"attempt": 2}')
    ]


def test_the_lease_is_kept_while_quiet_work_goes_on(shop_folder: ShopFolder) -> None:
    quiet = """
jobs.LEASE = timedelta(seconds=1)
@tasks.job("draw")
def draw(job):
    for _ in range(30):
        time.sleep(0.1)
        assert not Job.objects.ready(timezone.now()).exists()
    return {}
tasks.execute(jobs.request_job("draw", {}, by=None).pk)
job = Job.objects.get()
print(job.state, job.attempts, job.error)
"""
    assert shop_folder.run("-c", PREAMBLE + quiet).strip().splitlines()[-1].strip() == "done 1"


def test_a_folder_of_the_shop_is_the_tests_own(shop_folder: ShopFolder, tmp_path: Path) -> None:
    assert shop_folder.data.is_relative_to(tmp_path)
