"""Which person here a name in a file means: sure by user name or whole name, asked about otherwise.

Readings carry a person, and a person's share in the uncertainty is judged by them. "Anna" may be another Anna
than the one who signs in here; so a first name alone, and a name that several people have, is a question.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from inventory.models import User
from inventory.services.importing.refusals import PeopleOpen
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from inventory.services.importing.books import Books

NOBODY = ""
"""The answer that a name means none of the people here: it is kept as a note."""


@dataclass(frozen=True, slots=True)
class Named:
    """A name of the file: whom it means for sure, or whom it could mean (user names)."""

    name: str
    is_user: str
    could_be: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:  # Any: what JSON can hold
        """As the report keeps it."""
        return {"name": self.name, "is_user": self.is_user, "could_be": list(self.could_be)}


class People:
    """Everybody who has an account, found by user name, whole name or first name, without case."""

    def __init__(self, people: Iterable[User]) -> None:
        self._by_user: dict[str, User] = {}
        self._by_name: defaultdict[str, list[User]] = defaultdict(list)
        self._by_first: defaultdict[str, list[User]] = defaultdict(list)
        for person in people:
            self._by_user[person.username.casefold()] = person
            self._by_name[person.get_full_name().casefold()].append(person)
            self._by_first[person.first_name.casefold()].append(person)

    def named(self, name: str) -> Named:
        """Whom a name means, or could mean; neither where nobody here is called so."""
        key = name.casefold()
        whole, first = self._by_name.get(key, []), self._by_first.get(key, [])
        user = self._by_user.get(key) or (whole[0] if len(whole) == 1 and len(first) <= 1 else None)
        if user is not None:
            return Named(name, user.username, ())
        could_be = dict.fromkeys(person.username for person in (*whole, *first))
        return Named(name, "", tuple(could_be))

    def meant(self, named: Named, answers: Mapping[str, str]) -> User | None:
        """The person a name means, the answers to what was asked considered."""
        chosen = named.is_user or answers.get(named.name, NOBODY)
        return self._by_user.get(chosen.casefold()) if chosen else None


def check_answers(people: Iterable[Mapping[str, Any]], answers: Mapping[str, str]) -> dict[str, str]:
    """The answers to the names of a report that need one. Raises `PeopleOpen` for what is not answered."""
    asked = {str(one["name"]): one["could_be"] for one in people if one["could_be"]}
    open_names = [name for name in asked if name not in answers]
    if open_names:
        raise PeopleOpen(
            f"Who measured is not sure: {listed(open_names)}. Choose the person for each name, or that it is "
            "none of the people here."
        )
    for name, could_be in asked.items():
        if answers[name] != NOBODY and answers[name] not in could_be:
            raise PeopleOpen(
                f"{name!r} cannot be {answers[name]!r}. Choose one of {', '.join(could_be)}, or nobody here."
            )
    return {name: answers[name] for name in asked}


def names_in(names: Iterable[str], books: Books) -> list[Named]:
    """Each name of the file once, in alphabetical order."""
    return [books.people.named(name) for name in sorted(set(names) - {""}, key=str.casefold)]
