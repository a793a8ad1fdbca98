"""Questions that are put into SQL once, for what is asked with every reading saved.

Django puts a question into SQL anew each time it is asked, which for a join of a few tables takes several
times as long as SQLite needs to answer it. A kept question is put into SQL by Django at its first use;
afterwards only its values are filled in. Rows are made by Django too, so they are the same rows.

    sitting = KeptQuestion(lambda pk: Inspection.objects.filter(pk=pk).select_related("piece"), values=1)
    sitting(12)  # a list of inspections
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.models.query import ModelIterable

if TYPE_CHECKING:
    from django.db.backends.base.base import BaseDatabaseWrapper

Row = TypeVar("Row", bound=models.Model)

# Numbers no question holds by itself, so that they can be found again in what Django made of it.
_FIRST_STAND_IN = 2_000_000_011
_LARGEST = 2**63 - 1


class KeptQuestion(Generic[Row]):
    """A queryset that is asked again and again with other whole numbers.

    `word` builds it from that many `values`, each used in one place. Where SQL depends on more than the
    values (a condition that is left out, an empty list), it is not a question to keep.
    """

    def __init__(self, word: Callable[..., models.QuerySet[Row]], *, values: int) -> None:
        self._word, self._values = word, values
        self._mine = threading.local()  # a connection belongs to a thread, and so does what is worded for it

    def __call__(self, *values: int) -> list[Row]:
        """The rows for these values, all of them; an impossible number has none."""
        if not all(-_LARGEST <= value <= _LARGEST for value in values):
            return []
        connection = connections[DEFAULT_DB_ALIAS]
        worded: _Worded[Row] | None = getattr(self._mine, "worded", None)
        if worded is None or worded.connection is not connection:
            stand_ins = range(_FIRST_STAND_IN, _FIRST_STAND_IN + self._values)
            worded = _Worded(self._word(*stand_ins), stand_ins, connection)
            self._mine.worded = worded
        return worded.rows(values)


class _Worded(Generic[Row]):
    """A question as Django worded it for one connection."""

    def __init__(
        self, question: models.QuerySet[Row], stand_ins: range, connection: BaseDatabaseWrapper
    ) -> None:
        self.connection = connection
        compiler = question.query.get_compiler(connection=connection)
        self._sql, self._params = compiler.as_sql()
        self._places = [self._place_of(stand_in) for stand_in in stand_ins]
        converters = compiler.get_converters([column for column, *_ in compiler.select])
        asked: Any = compiler  # Any: its methods are replaced by what they gave the first time
        asked.as_sql = self._filled_in
        asked.get_converters = lambda _columns: converters
        query: Any = question.query  # Any: as above
        query.get_compiler = lambda *_args, **_kwargs: compiler
        self._question = question

    def rows(self, values: tuple[int, ...]) -> list[Row]:
        """Ask with these values."""
        params = list(self._params)
        for place, value in zip(self._places, values, strict=True):
            params[place] = value
        self._params = tuple(params)
        return list(ModelIterable(self._question))

    def _filled_in(self, *_args: object, **_kwargs: object) -> tuple[str, tuple[Any, ...]]:  # Any: parameters
        return self._sql, self._params

    def _place_of(self, stand_in: int) -> int:
        places = [place for place, value in enumerate(self._params) if value == stand_in]
        if len(places) != 1:
            raise ValueError(f"Each value must stand in one place of the question, not in {len(places)}.")
        return places[0]
