"""The cases, by the kind of what goes wrong. A case fails by raising Failure, and its message says what was expected
and what was found."""

from cases import bonds, computer, jobs, link

CASES = {**jobs.CASES, **link.CASES, **computer.CASES, **bonds.CASES}
