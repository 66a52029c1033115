"""Reads the samples of a file with SciPy and prints its pace beside ours, which comes in on standard input."""

import json
import sys
import time

import numpy as np
from scipy.signal import butter, find_peaks, peak_widths, sosfiltfilt

RATE_HZ = 500.0
RANGE_NM = 280.0
TURNS = 5
LEVELS = np.array([0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98])


def zero_tracked(torque):
    """Takes the zero off: the mean of quiet half seconds, held while something is loaded. With it the threshold
    that their noise allows."""
    size = int(RATE_HZ / 2)
    count = len(torque) // size
    parts = torque[: count * size].reshape(count, size)
    means, spreads = parts.mean(axis=1), parts.std(axis=1)
    quiet = (np.abs(means) < 0.01 * RANGE_NM) & (spreads < 0.002 * RANGE_NM)
    last = np.maximum.accumulate(np.where(quiet, np.arange(count), 0))
    left = len(torque) - count * size
    zero = np.pad(np.repeat(means[last], size), (0, left), mode="edge")
    least = np.maximum(max(2.0, 0.01 * RANGE_NM), 5.0 * spreads[last])
    return torque - zero, np.pad(np.repeat(least, size), (0, left), mode="edge")


def pipeline(torque):
    """Zero, low-pass without delay, peaks with height, distance and prominence, their widths: where each pull
    peaked, how high, from where to where. What is over sooner than a pull can be is a knock."""
    level, least = zero_tracked(torque)
    sos = butter(4, 40.0, fs=RATE_HZ, output="sos")
    smooth = sosfiltfilt(sos, level)
    size = np.abs(smooth)
    peaks, found = find_peaks(size, height=1.5 * least, distance=int(0.3 * RATE_HZ), prominence=1.5 * least)
    width, _, first, last = peak_widths(
        size, peaks, rel_height=0.9, prominence_data=tuple(found[of] for of in ("prominences", "left_bases", "right_bases"))
    )
    pulls = width > 0.075 * RATE_HZ
    return smooth, peaks[pulls], first[pulls], last[pulls]


def described(torque):
    """The same with some of what is told of each pull: when it rose through each level and fell through it
    again, its steepest slope, how far it fell on the way, how long it stood."""
    smooth, peaks, first, last = pipeline(torque)
    told = []
    for at, begin, end in zip(peaks, first.astype(int), last.astype(int)):
        part = np.abs(smooth[begin : end + 2])
        top = at - begin
        levels = part[top] * LEVELS
        risen = np.searchsorted(np.maximum.accumulate(part[: top + 1]), levels)
        fallen = len(part) - np.searchsorted(np.maximum.accumulate(part[:top:-1]), levels)
        slope = np.max(part[20 : top + 1] - part[: max(top - 19, 0)], initial=0.0)
        falls = np.max(np.maximum.accumulate(part[: top + 1]) - part[: top + 1])
        told.append((risen, fallen, slope, falls, np.count_nonzero(part > 0.9 * part[top])))
    return smooth, peaks, first, last


def bare(torque):
    return torque, find_peaks(torque)[0]


def best(what, torque):
    """Shortest of several turns, and what it found."""
    shortest, found = float("inf"), None
    for _ in range(TURNS):
        began = time.perf_counter()
        found = what(torque)
        shortest = min(shortest, time.perf_counter() - began)
    return shortest, found


def alike(ours, smooth, peaks):
    """How many of our pulls the other program found, too: within half a second, and three per cent."""
    near = np.searchsorted(peaks, [at * RATE_HZ for at, _ in ours])
    count = 0
    for (at, nm), place in zip(ours, near):
        for other in peaks[max(place - 1, 0) : place + 1]:
            if abs(other / RATE_HZ - at) < 0.5 and abs(smooth[other] - nm) < 0.03 * abs(nm) + 0.005 * RANGE_NM:
                count += 1
                break
    return count


def main():
    torque = np.fromfile(sys.argv[1], dtype="<f8")
    told = json.load(sys.stdin)
    assert told["samples"] == len(torque)
    ours = told["pulls"]
    rows = [("clampbook, as one array", told["whole_s"], len(ours))]
    rows.append(("clampbook, in blocks of 50", told["blocks_s"], len(ours)))
    rows.append(("samples only added up", told["sum_s"], 0))
    goal = {}
    for name, what in [
        ("scipy, the same job", pipeline),
        ("the same, pulls described", described),
        ("scipy, find_peaks alone", bare),
    ]:
        took, found = best(what, torque)
        rows.append((name, took, len(found[1])))
        goal[what] = took / told["whole_s"]
        if what is pipeline:
            both = alike(ours, *found[:2])
    print(f"{len(torque)} samples, best of {TURNS}; {both} of {len(ours)} pulls found by both")
    for name, took, found in rows:
        pace = len(torque) / took / 1e6
        print(f"{name:<26} {took:8.4f} s  {pace:8.1f} M samples/s  {found:>8} found  x{took / told['whole_s']:6.1f}")
    pace = len(torque) / told["whole_s"] / 1e6
    print(f"samples a second: {pace:.0f} million, goal 20: {'met' if pace >= 20 else 'MISSED'}")
    print(
        f"the pipeline takes {goal[pipeline]:.1f} times as long, goal 20: {'met' if goal[pipeline] >= 20 else 'MISSED'}"
        f" (with its pulls described, as ours are, {goal[described]:.1f} times)"
    )


if __name__ == "__main__":
    main()
