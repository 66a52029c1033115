"""Runs the cases in virtual machines, several beside each other, and tells what came of them. `run` starts it:

    machines.py FOLDER-OF-BINARIES [--case NAME]... [--core] [--times N] [--machines N] [--keep]
"""

import argparse
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading

from cases import CASES, CORE

HERE = os.path.dirname(os.path.abspath(__file__))
RESULT = re.compile(r"bluetooth case (\S+) \.\.\. (ok|FAILED) ")
RECOVERY = re.compile(r"    recovery from (.+): ([0-9.]+) s")
# For the machine itself, and for each of its cases, which end by themselves before.
BOOT_S, CASE_S = 120, 330


class Machine(threading.Thread):
    """One virtual machine with its cases. What it says is printed as it says it."""

    def __init__(self, binaries, logs, names, printing):
        super().__init__()
        self.binaries, self.logs, self.names, self.printing = binaries, logs, names, printing
        self.passed = []
        self.recoveries = []

    def run(self):
        os.makedirs(self.logs)
        console = f"{self.logs}/console.log"
        open(console, "w").close()
        limit = str(BOOT_S + CASE_S * len(self.names))
        machine = subprocess.Popen(
            [f"{HERE}/vm", "--out", self.logs, "--timeout", limit, "--"]
            + ["/usr/bin/python3", "-B", f"{HERE}/guest.py", self.binaries, *self.names]
        )
        with open(console, errors="replace") as said:
            while machine.poll() is None:
                self.follow(said)
                try:
                    machine.wait(0.3)
                except subprocess.TimeoutExpired:
                    pass
            self.follow(said)

    def follow(self, said):
        """Takes whole lines only; a console ends them with a carriage return."""
        lines = []
        while True:
            place = said.tell()
            line = said.readline()
            if not line.endswith("\n"):
                said.seek(place)
                break
            lines.append(line.rstrip("\r\n"))
        for line in lines:
            if (result := RESULT.match(line)) and result[2] == "ok":
                self.passed.append(result[1])
            if recovery := RECOVERY.match(line):
                self.recoveries.append((recovery[1], float(recovery[2])))
        if lines:
            with self.printing:
                print("\n".join(lines), flush=True)


def deal(names, machines):
    """Deals the cases out, the longest first, each to the machine that has the least to do; those that have to be the
    last on their machine get one each."""
    last = [name for name in names if CASES[name].last]
    rest = sorted((name for name in names if not CASES[name].last), key=lambda name: -CASES[name].seconds)
    hands = [[] for _ in range(max(machines, len(last)))]
    work = lambda hand: sum(CASES[name].seconds for name in hand)
    for hand, name in zip(hands, last):
        hand.append(name)
    for name in rest:
        min(hands[:machines], key=work).insert(0, name)
    return [hand for hand in hands if hand]


def run_once(arguments, names, logs):
    """Runs each case once. Gives the recoveries and the names of those that failed."""
    printing = threading.Lock()
    hands = deal(names, arguments.machines)
    waiting = [
        Machine(arguments.binaries, f"{logs}/machine-{number}", hand, printing)
        for number, hand in enumerate(hands, 1)
    ]
    machines, running = list(waiting), []
    while waiting or running:
        while waiting and len(running) < arguments.machines:
            running.append(waiting.pop(0))
            running[-1].start()
        running[0].join(1)
        running = [machine for machine in running if machine.is_alive()]
    failed = []
    for machine in machines:
        for name in machine.names:
            folder = f"{machine.logs}/{name}"
            if name in machine.passed:
                if not arguments.keep:
                    shutil.rmtree(folder, ignore_errors=True)
                continue
            failed.append(name)
            print(f"logs of {name}, which failed or was not reached: {folder}")
            for line in last_lines(f"{folder}/serve.log", 15):
                print(f"    serve: {line}")
        if set(machine.names) <= set(machine.passed) and not arguments.keep:
            shutil.rmtree(machine.logs, ignore_errors=True)
    return [recovery for machine in machines for recovery in machine.recoveries], failed


def last_lines(path, count):
    try:
        with open(path, errors="replace") as file:
            return file.read().splitlines()[-count:]
    except OSError:
        return []


def table(recoveries):
    """What was recovered from, how often, and how long that took."""
    taken = {}
    for fault, seconds in recoveries:
        taken.setdefault(fault, []).append(seconds)
    width = max(map(len, taken), default=5)
    print(f"{'fault':<{width}}  runs  median    worst")
    for fault, seconds in sorted(taken.items()):
        median, worst = statistics.median(seconds), max(seconds)
        print(f"{fault:<{width}}  {len(seconds):>4}  {median:>5.1f} s  {worst:>5.1f} s")


def main():
    usage = "tests/bluetooth/run [--case NAME]... [--core] [--times N] [--machines N] [--keep] | --list"
    parser = argparse.ArgumentParser(prog="tests/bluetooth/run", usage=usage, add_help=False)
    parser.add_argument("binaries")
    parser.add_argument("--case", action="append", choices=CASES, metavar="NAME")
    parser.add_argument("--core", action="store_true")
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--machines", type=int, default=2)
    parser.add_argument("--keep", action="store_true")
    parser.add_argument("--list", action="store_true")
    arguments = parser.parse_args()
    if arguments.list:
        print("\n".join(CASES))
        return 0
    names = list(dict.fromkeys(arguments.case or (CORE if arguments.core else CASES)))
    logs = tempfile.mkdtemp(prefix="clampbook-bluetooth-")
    recoveries, failed = [], []
    for time in range(1, arguments.times + 1):
        if arguments.times > 1:
            print(f"== {time} of {arguments.times}", flush=True)
        found, names_failed = run_once(arguments, names, f"{logs}/{time}")
        recoveries += found
        failed += names_failed
    if recoveries:
        table(recoveries)
    if failed or arguments.keep:
        print(f"logs: {logs}")
    else:
        shutil.rmtree(logs)
    print(f"{len(names) * arguments.times - len(failed)} passed, {len(failed)} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
