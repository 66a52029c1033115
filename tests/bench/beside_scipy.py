"""Reads the samples of a file with SciPy and prints its pace beside ours, which comes in on standard input."""

import sys
import time

import numpy as np
from scipy.signal import butter, find_peaks, peak_widths, sosfiltfilt

RATE_HZ = 500.0
RANGE_NM = 280.0
TURNS = 5


def zero_tracked(torque):
    """Takes the zero off: the running mean of quiet half seconds, held while something is loaded."""
    size = int(RATE_HZ / 2)
    count = len(torque) // size
    parts = torque[: count * size].reshape(count, size)
    means, spreads = parts.mean(axis=1), parts.std(axis=1)
    quiet = (np.abs(means) < 0.01 * RANGE_NM) & (spreads < 0.002 * RANGE_NM)
    last = np.maximum.accumulate(np.where(quiet, np.arange(count), 0))
    zero = np.repeat(means[last], size)
    zero = np.concatenate([zero, np.full(len(torque) - len(zero), zero[-1])])
    return torque - zero


def pipeline(torque):
    """Zero, low-pass without delay, peaks with height, distance and prominence, their widths."""
    sos = butter(4, 40.0, fs=RATE_HZ, output="sos")
    smooth = sosfiltfilt(sos, zero_tracked(torque))
    size = np.abs(smooth)
    peaks, _ = find_peaks(
        size, height=0.02 * RANGE_NM, distance=int(0.3 * RATE_HZ), prominence=0.02 * RANGE_NM
    )
    peak_widths(size, peaks, rel_height=0.9)
    return len(peaks)


def bare(torque):
    return len(find_peaks(torque)[0])


def best(what, torque):
    """Shortest of several turns, and what it found."""
    shortest, found = float("inf"), 0
    for _ in range(TURNS):
        began = time.perf_counter()
        found = what(torque)
        shortest = min(shortest, time.perf_counter() - began)
    return shortest, found


def main():
    torque = np.fromfile(sys.argv[1], dtype="<f8")
    count, seconds, pulls = sys.stdin.read().split()
    count, seconds = int(count), float(seconds)
    assert count == len(torque)
    rows = [("clampbook", seconds, int(pulls))]
    rows.append(("scipy, the same job", *best(pipeline, torque)))
    rows.append(("scipy, find_peaks alone", *best(bare, torque)))
    print(f"{count} samples, best of {TURNS}")
    for name, took, found in rows:
        pace = count / took / 1e6
        print(f"{name:<26} {took:8.4f} s  {pace:8.1f} M samples/s  {found:>8} found  x{took / seconds:6.1f}")


if __name__ == "__main__":
    main()
