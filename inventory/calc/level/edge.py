"""Along the edge or straight across: two different points of measure, easily mixed up."""

from inventory.calc.errors import ImpossibleInput
from inventory.calc.geometry import along_the_edge_excess
from inventory.calc.length import Display, Unit, show, show_exact
from inventory.calc.level.working import Given, Outcome, Working, WorkingKind, whole_u

_WORDS = {
    Outcome.STRAIGHT: "It looks like a straight reading.",
    Outcome.ALONG: "It looks as if it was read along the edge: {excess} longer than straight.",
    Outcome.CANNOT_TELL: "Both would explain it: the edge is only {excess} longer, too little to tell.",
    Outcome.NEITHER: "Neither explains it: look for another slip, or the piece is off.",
}


def edge_or_straight(
    reading_nm: int, *, straight_nm: int, sag_nm: int, u_nm: float, display: Display
) -> Working:
    """Which of the two ways of laying the tape explains a reading.

    ``straight_nm`` is what a straight reading should give (a reading across, or the nominal), ``sag_nm`` how
    far the edge dips from the straight line, ``u_nm`` how far a straight reading may honestly be from the one
    expected (reading and, for a nominal, making together), as a standard uncertainty. Twice that explains a
    reading. Raises ImpossibleInput for a dip too deep to estimate.

    >>> from inventory.calc.length import Unit
    >>> found = edge_or_straight(289_000_000, straight_nm=280_000_000, sag_nm=30_000_000, u_nm=1_500_000,
    ...                          display=Display(Unit.MM))
    >>> print(found.outcome, found.sentence, sep=": ")
    along the edge: It looks as if it was read along the edge: 8.6 mm longer than straight.
    """
    if reading_nm <= 0:
        raise ImpossibleInput("reading", show_exact(reading_nm, unit=Unit.MM), "Give a length above zero")
    reach_nm = 2 * whole_u(u_nm)
    excess_nm = along_the_edge_excess(straight_nm, sag_nm=sag_nm)
    # The estimate is never too short, and too long by at most this share (see geometry).
    shortest_nm = straight_nm + round(excess_nm * (1 - 2.4 * (sag_nm / straight_nm) ** 2))
    straight = abs(reading_nm - straight_nm) <= reach_nm
    along = shortest_nm - reach_nm <= reading_nm <= straight_nm + excess_nm + reach_nm
    outcome = {
        (True, False): Outcome.STRAIGHT,
        (False, True): Outcome.ALONG,
        (True, True): Outcome.CANNOT_TELL,
        (False, False): Outcome.NEITHER,
    }[straight, along]
    return Working(
        kind=WorkingKind.EDGE,
        given=(
            Given("Reading", reading_nm),
            Given("Straight across", straight_nm),
            Given("Dip of the edge", sag_nm),
        ),
        formula="Along the edge = straight + 8 × dip² ÷ (3 × straight)",
        result="Along the edge",
        result_nm=straight_nm + excess_nm,
        u_nm=whole_u(u_nm),
        outcome=outcome,
        sentence=_WORDS[outcome].format(excess=show(excess_nm, display)),
    )
