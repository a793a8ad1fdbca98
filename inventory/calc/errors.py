"""What the calculations say when the input cannot be right.

Every message is one or two plain sentences for the person at the bench: the thing, the value, the cure.
The parts are kept as attributes too, so a form or an API can place them separately. All parts travel in
``args``, so the errors survive pickling (background work, parallel tests).
"""


class CalcError(ValueError):
    """Base of every refusal made by the calculations; ``str(error)`` is a sentence for the user."""


class LengthNotUnderstood(CalcError):
    """A typed length that was refused: what was typed, how it was read, what to type instead.

    >>> str(LengthNotUnderstood("34 3", "two numbers, 34 and 3", "34.3 or 343"))
    '"34 3" was read as two numbers, 34 and 3. Type 34.3 or 343.'
    """

    def __init__(self, typed: str, read_as: str, cure: str) -> None:
        super().__init__(typed, read_as, cure)
        self.typed = typed
        self.read_as = read_as
        self.cure = cure

    def __str__(self) -> str:
        return f'"{self.typed}" was read as {self.read_as}. Type {self.cure}.'


class ImpossibleInput(CalcError):
    """An input that contradicts itself or the physical world: the thing, the value, the cure.

    >>> str(ImpossibleInput("lower limit", "520 mm, above the upper limit 500 mm", "Swap the two"))
    'Lower limit is 520 mm, above the upper limit 500 mm. Swap the two.'
    """

    def __init__(self, thing: str, value: object, cure: str) -> None:
        super().__init__(thing, value, cure)
        self.thing = thing
        self.value = value
        self.cure = cure

    def __str__(self) -> str:
        return f"{self.thing[:1].upper()}{self.thing[1:]} is {self.value}. {self.cure}."
