"""Saving one reading through the real server, beside a view that does nothing on the same server.

Both are the same form, sent by the same signed-in person over HTTP, through the same middleware. A second
server holds a million readings; all are asked in turn, one request each.
"""

from __future__ import annotations

import datetime as dt
import json
import random
import uuid
from contextlib import ExitStack
from statistics import fmean, median
from typing import TYPE_CHECKING, Any

from deploy.benchmarks import folders
from deploy.benchmarks.figures import Figure, shown, spread
from deploy.benchmarks.rounds import RUNS
from deploy.benchmarks.server import Person, serving

if TYPE_CHECKING:
    from pathlib import Path

PASSWORD = "only-for-a-benchmark"  # noqa: S105  # of a folder that is thrown away
READINGS_A_PIECE = 20
SPREAD_MM = 1.0


class Bench:
    """A person who measures one waiting piece after the other, as the answers of the server ask for it."""

    def __init__(self, port: int, stock: dict[str, Any]) -> None:  # Any: what JSON can hold
        self.person = Person(port, username="inspector", password=PASSWORD)
        self.stock = stock
        self.waiting = iter(stock["waiting"])
        self.chance = random.Random(7)  # noqa: S311  # figures, not secrets
        self.saved = 0
        self._next_piece()

    def save(self) -> float:
        """Seconds of saving the next reading; a question of the slip guard is answered, outside the time."""
        took, text = self.person.timed_post(f"/bench/P{self.number:06d}/readings/", self.form())
        answer = json.loads(text)
        if not answer["created"]:
            raise RuntimeError(f"P{self.number:06d}: the reading was not stored: {text[:500]}")
        self.saved += 1
        self.sitting, self.seen = str(answer["sitting"]), str(answer["seen"])
        if answer["ask"] == "question":
            self._keep(answer["step"])
        self.step = answer["next"]
        self.read += 1
        if answer["ask"] == "finish" or not self.step or self.read >= 2 * READINGS_A_PIECE:
            self._next_piece()
        return took

    def nothing(self) -> float:
        """Seconds of sending the same form to the view that does nothing."""
        return self.person.timed_post("/trivial/", self.form())[0]

    def form(self) -> dict[str, str]:
        """What the bench's script would send now."""
        code = self.step.partition("-")[0]
        figure = self.stock["nominals_mm"][code] + self.chance.gauss(0, SPREAD_MM)
        return {
            "step": self.step,
            "key": str(uuid.uuid4()),
            "signed_by": self.signed_by,
            "seen": self.seen,
            "typed": f"{round(2 * figure) / 2:g}",
            "unit": "mm",
            "tape": "",
            "state": "as_received",
            "taken_at": dt.datetime.now(dt.UTC).isoformat(),
        } | ({"sitting": self.sitting} if self.sitting else {})

    def _next_piece(self) -> None:
        self.number = next(self.waiting)
        self.step, self.sitting, self.seen, self.read = (
            f"{next(iter(self.stock['nominals_mm']))}-L",
            "",
            "0",
            0,
        )
        self.signed_by = str(self.stock["inspector"])

    def _keep(self, step: str) -> None:
        page = self.person.get(f"/bench/P{self.number:06d}/?after={step}")
        question = page.partition('name="question" value="')[2].partition('"')[0]
        self.person.post(
            f"/bench/P{self.number:06d}/readings/", {"step": step, "question": question, "answer": "kept"}
        )


def measure(place: Path, *, small: bool) -> list[Figure]:
    """Five rounds; in each a hundred times in turn: ours, the floor, ours with a million readings stored."""
    times, warm_up = (2, 2) if small else (100, 20)
    files = [20] if small else [10_000] * 5
    static = place / "static"
    few, many = place / "saving", place / "saving-many"
    number = str((warm_up + RUNS * times) // 10 + 10)
    folders.collect_static(static, data=place / "collect")
    stocks = [
        folders.inside("stock", "--number", number, env=folders.environment(few)),
        folders.inside(
            "stock", "--pieces", *map(str, files), "--number", number, env=folders.environment(many)
        ),
    ]
    rounds: dict[str, list[float]] = {"ours": [], "floor": [], "many": []}
    every: dict[str, list[float]] = {"ours": [], "floor": [], "many": []}
    with ExitStack() as servers:
        at_few, at_many = (
            Bench(servers.enter_context(serving(folder, static=static)), stock)
            for folder, stock in zip((few, many), stocks, strict=True)
        )
        work = {"ours": at_few.save, "floor": at_few.nothing, "many": at_many.save}
        for run in range(-1, RUNS):
            taken: dict[str, list[float]] = {name: [] for name in work}
            for turn in range(warm_up if run < 0 else times):
                for name in sorted(work, reverse=bool(turn % 2)):
                    taken[name].append(work[name]())
            if run >= 0:
                for name in work:
                    rounds[name].append(fmean(taken[name]))
                    every[name] += taken[name]
    ours, floor, full = (median(rounds[name]) for name in ("ours", "floor", "many"))
    stored = f"{stocks[1]['readings']:,}"
    how = f"a round is the mean of {times} requests, asked in turn"
    return [
        Figure(
            name="saving",
            words="one reading saved at the bench: stored, noted, judged, answered",
            ours=ours,
            floor=floor,
            unit="s",
            runs=RUNS,
            most_ratio=4,
            bound_by="the write-through of the commit to the disk, and Python between the SQL statements",
            notes=(
                f"{how}; ours {spread(rounds['ours'], 's')}, floor {spread(rounds['floor'], 's')}",
                f"median of all {len(every['ours'])} savings: {shown(median(every['ours']), 's')}",
                f"median of all {len(every['floor'])} empty answers: {shown(median(every['floor']), 's')}",
            ),
        ),
        Figure(
            name="saving-full",
            words=f"the same with {stored} readings stored already",
            ours=full,
            floor=floor,
            unit="s",
            runs=RUNS,
            most_ratio=4,
            bound_by="the same; every look-up is by an index",
            notes=(f"{how}; ours {spread(rounds['many'], 's')}",),
        ),
        Figure(
            name="saving-growth",
            words=f"saving with {stored} readings stored (ours) against saving with none (floor)",
            ours=full,
            floor=ours,
            unit="s",
            runs=RUNS,
            most_ratio=1.3,
            bound_by="the depth of the indexes",
        ),
    ]
