"""What the catalogue says when asked for something it does not hold: the thing, the value, the cure."""

from collections.abc import Iterable


class CatalogueError(LookupError):
    """Base of the catalogue's refusals; ``str(error)`` is a sentence for the user."""


class UnknownFamily(CatalogueError):
    """A garment family the catalogue does not know.

    >>> str(UnknownFamily("cape", ("bodice", "jacket")))
    'There is no garment family "cape". Choose one of bodice, jacket.'
    """

    def __init__(self, family: str, known: Iterable[str]) -> None:
        self.family = family
        self.known = tuple(known)
        super().__init__(family, self.known)

    def __str__(self) -> str:
        return f'There is no garment family "{self.family}". Choose one of {", ".join(self.known)}.'


class UnknownPoint(CatalogueError):
    """A point code the family's catalogue, or its drawing, does not hold.

    >>> str(UnknownPoint("ZZ", "bodice", ("HC", "HW")))
    'The family "bodice" has no point "ZZ". Choose one of HC, HW.'
    """

    def __init__(self, code: str, family: str, known: Iterable[str]) -> None:
        self.code = code
        self.family = family
        self.known = tuple(known)
        super().__init__(code, family, self.known)

    def __str__(self) -> str:
        return (
            f'The family "{self.family}" has no point "{self.code}". Choose one of {", ".join(self.known)}.'
        )
