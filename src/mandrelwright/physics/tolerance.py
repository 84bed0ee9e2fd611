"""Standard tolerance grades of diameters up to 500 mm (ISO 286-1).

Source: ISO 286-1:2010, table 1, from memory; IT6 to IT11 of the steps 30 to 180 mm were also
read in public copies. From IT12 on every value is ten times the value five grades finer.
"""

from __future__ import annotations

FINEST, COARSEST = 5, 18
DECADE = 5  # grades per factor of ten, exact in the table from IT12 on
TABULATED = 11  # the coarsest grade written out below
MICROMETRES_PER_METRE = 1e6

# upper limit of the size step in mm: IT5, IT6, … IT11 in micrometres
TABLE: tuple[tuple[float, tuple[int, ...]], ...] = (
    (3.0, (4, 6, 10, 14, 25, 40, 60)),
    (6.0, (5, 8, 12, 18, 30, 48, 75)),
    (10.0, (6, 9, 15, 22, 36, 58, 90)),
    (18.0, (8, 11, 18, 27, 43, 70, 110)),
    (30.0, (9, 13, 21, 33, 52, 84, 130)),
    (50.0, (11, 16, 25, 39, 62, 100, 160)),
    (80.0, (13, 19, 30, 46, 74, 120, 190)),
    (120.0, (15, 22, 35, 54, 87, 140, 220)),
    (180.0, (18, 25, 40, 63, 100, 160, 250)),
    (250.0, (20, 29, 46, 72, 115, 185, 290)),
    (315.0, (23, 32, 52, 81, 130, 210, 320)),
    (400.0, (25, 36, 57, 89, 140, 230, 360)),
    (500.0, (27, 40, 63, 97, 155, 250, 400)),
)


def standard_tolerance(diameter: float, grade: int) -> float:
    """Width of the tolerance zone of an IT grade at a diameter, both in m.

    Grades 5 to 18, diameters up to 500 mm; raises ValueError outside. A diameter on the
    limit of two size steps belongs to the smaller step.

    >>> standard_tolerance(0.099, 11)
    0.00022
    """
    if not FINEST <= grade <= COARSEST:
        raise ValueError(f"grade IT{grade} is outside IT{FINEST} to IT{COARSEST}")
    tens = max(0, -(-(grade - TABULATED) // DECADE))
    return _row(diameter)[grade - DECADE * tens - FINEST] * 10.0**tens / MICROMETRES_PER_METRE


def grade_of(diameter: float, width: float) -> int | None:
    """Coarsest IT grade whose tolerance still lies inside a window ``width`` (m) at a diameter.

    None when the window is finer than IT5. Raises ValueError outside 0 to 500 mm.

    >>> grade_of(0.099, 0.25e-3)
    11
    """
    fitting = (
        grade
        for grade in range(COARSEST, FINEST - 1, -1)
        if standard_tolerance(diameter, grade) <= width
    )
    return next(fitting, None)


def _row(diameter: float) -> tuple[int, ...]:
    """Tolerances of the size step that holds a diameter in m, IT5 first, in micrometres."""
    size_mm = diameter * 1e3
    if size_mm > 0.0:
        for upper, row in TABLE:
            if size_mm <= upper * (1.0 + 1e-12):
                return row
    raise ValueError("standard tolerances are tabulated for diameters from 0 to 500 mm")
