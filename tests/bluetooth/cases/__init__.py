"""The cases, by the kind of what goes wrong. A case fails by raising Failure, and its message says what was expected
and what was found."""

from cases import bonds, computer, hand, jobs, link

CASES = {**jobs.CASES, **hand.CASES, **link.CASES, **computer.CASES, **bonds.CASES}

# Run every time; the others take twice as long again.
CORE = (
    "whole-wheel-job",
    "live-torque-only",
    "traces-of-the-pulls",
    "set-point-before-each-fastener",
    "button-answers",
    "link-lost-in-the-middle",
    "notifications-go-wrong",
    "adapter-restarted",
    "adapter-hangs",
    "asleep-and-awake",
    "serve-killed",
    "bluetooth-service-restarted",
    "adding-pairs-by-itself",
    "pairing-only-when-open",
)
