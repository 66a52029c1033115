"""The cases. Runs one of them in the virtual machine: cases.py NAME FOLDER-OF-BINARIES

The daemon runs over BlueZ on hci0, the reference adapter over its own host stack on hci1. A case fails by
raising Failure, and its message says what was expected and what was found.
"""

import os
import sys
import time
import traceback

from rig import HERE, Adapter, Agent, Daemon, Failure, expect, expect_exactly_once, until

PLAN = f"{HERE}/wheel.toml"
RECORDING = f"{HERE}/wheel.ndjson"
SERIAL = "L-40-280"
FIRST_PASS = (81.2, 79.6, 80.4, 82.0, 80.9, 79.1)
FINAL_PASS = (166.4, 163.8, 165.2, 167.0, 164.6, 165.9)


class Bench:
    """Adapter, agent and daemon of one case."""

    def __init__(self, binaries, level=1):
        self.folder = os.environ["OUT"]
        self.binaries = binaries
        self.level = level
        self.agent = Agent(self.folder)
        self.adapter = self.new_adapter()
        self.daemon = Daemon(f"{binaries}/clampbook", self.folder)

    def new_adapter(self):
        binary = f"{self.binaries}/clampbook-reference-adapter"
        return Adapter(binary, self.folder, "--level", str(self.level), "--recording", RECORDING)

    def bond(self):
        """Pairs as the operator does, before the first job."""
        self.adapter.ask("pairing")
        self.agent.find(self.adapter.address)
        expect("pairing in pairing mode", self.agent.pair(self.adapter.address), True)
        self.agent.ask(f"disconnect {self.adapter.address}", "Successful disconnected", 20)
        self.adapter.wait("disconnected", 20)

    def begin(self):
        """Bonds, starts the daemon and a job, and waits until the adapter is listened to."""
        if self.level >= 1:
            self.bond()
        self.daemon.start(SERIAL)
        self.daemon.run("job", "start", PLAN)
        self.adapter.wait_link(level=self.level)

    def finish(self):
        """Closes the job, which nothing open prevents, stops everything, and checks the journal once more."""
        self.daemon.run("job", "close")
        self.daemon.stop()

    def end(self):
        for part in (self.daemon.stop, self.adapter.quit):
            try:
                part()
            except Failure as failure:
                print(failure)


def whole_wheel_job(bench):
    """A wheel is torqued in two passes: every reading is logged, released and judged; nothing is open."""
    bench.begin()
    bench.adapter.ask("play speed=6")
    bench.adapter.wait("played", 120)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()
    bench.daemon.run("report", "1", "--out", f"{bench.folder}/report")
    for name in ("report.html", "report.json"):
        if not os.path.getsize(f"{bench.folder}/report/{name}"):
            raise Failure(f"expected {name} with content, but it is empty")


def live_torque_only(bench):
    """An adapter of level 0: the daemon finds the peaks in the live torque by itself."""
    bench.begin()
    bench.adapter.ask("play speed=6")
    bench.adapter.wait("played", 120)
    made = [peak for _, _, peak in bench.adapter.made()]
    until(f"{len(made)} readings in the journal", 60, lambda: len(bench.daemon.readings()) >= len(made))
    found = [peak for _, _, peak in bench.daemon.readings()]
    expect("number of readings in the journal", len(found), len(made))
    for place, (true, heard) in enumerate(zip(made, found), 1):
        if abs(heard - true) > true / 100:
            raise Failure(f"reading {place}: expected a peak within 1 % of {true / 100} N·m, but found {heard / 100}")
    bench.finish()


def link_lost_in_the_middle(bench):
    """The link is lost, readings are made meanwhile, some are never notified and some twice."""
    bench.begin()
    adapter = bench.adapter
    adapter.pull(*FIRST_PASS[:3])
    adapter.ask("drop-link 8s")
    adapter.wait("disconnected", 20, times=2)
    adapter.pull(*FIRST_PASS[3:])
    adapter.wait_link(times=2)
    adapter.ask("skip 2")
    adapter.pull(*FINAL_PASS[:2])
    adapter.ask("double 2")
    adapter.pull(*FINAL_PASS[2:])
    expect_exactly_once(bench.daemon, adapter)
    bench.finish()


def serve_killed(bench):
    """serve is killed in the middle of a job, readings are made, and it is started again: the job goes on."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:4])
    bench.daemon.kill()
    bench.adapter.pull(*FIRST_PASS[4:])
    bench.daemon.start(SERIAL)
    bench.adapter.wait_link(times=2)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


def adapter_restarted(bench):
    """The adapter loses its power with readings that nobody has heard, and begins a new epoch."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    bench.adapter.ask("drop-link 30s")
    bench.adapter.pull(*FINAL_PASS[:2])
    bench.adapter.kill()
    bench.adapter = bench.new_adapter()
    bench.adapter.pull(FINAL_PASS[2])
    bench.adapter.wait_link()
    bench.adapter.pull(*FINAL_PASS[3:])
    expect_exactly_once(bench.daemon, bench.adapter)
    epochs = sorted({epoch for epoch, _, _ in bench.daemon.readings()})
    expect("epochs in the journal", epochs, [1, 2])
    bench.finish()


def pairing_only_when_open(bench):
    """Outside pairing mode the adapter refuses, and the daemon says what to do, takes nothing and goes on."""
    address = bench.adapter.address
    bench.agent.find(address)
    expect("pairing outside pairing mode", bench.agent.pair(address), False)
    bench.adapter.wait("pairing-refused", 10)
    bench.daemon.start(SERIAL)
    until("serve to say that pairing is needed", 90, lambda: "pair" in bench.daemon.said())
    bench.adapter.pull(FIRST_PASS[0])
    time.sleep(5)
    expect("readings without a bond", bench.daemon.readings(), [])
    bench.bond()
    bench.adapter.wait_link()
    bench.adapter.pull(FIRST_PASS[1])
    expect_exactly_once(bench.daemon, bench.adapter, seconds=120)


def asleep_and_awake(bench):
    """Sleep is announced and no fault; after waking the job goes on, and the pull that wakes is not lost."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    bench.adapter.ask("sleep 3")
    bench.adapter.wait("disconnected", 30, times=2)
    time.sleep(5)
    bench.adapter.pull(*FINAL_PASS[:1])
    bench.adapter.wait_link(times=2)
    bench.adapter.pull(*FINAL_PASS[1:])
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


CASES = {
    "whole-wheel-job": (whole_wheel_job, 1),
    "live-torque-only": (live_torque_only, 0),
    "link-lost-in-the-middle": (link_lost_in_the_middle, 1),
    "serve-killed": (serve_killed, 1),
    "adapter-restarted": (adapter_restarted, 1),
    "pairing-only-when-open": (pairing_only_when_open, 1),
    "asleep-and-awake": (asleep_and_awake, 1),
}


def main():
    if sys.argv[1:] == ["--list"]:
        print("\n".join(CASES))
        return 0
    name, binaries = sys.argv[1:]
    case, level = CASES[name]
    bench = Bench(binaries, level)
    try:
        case(bench)
        return 0
    except Failure as failure:
        print(f"{name}: {failure}")
        return 1
    except Exception:
        traceback.print_exc()
        return 1
    finally:
        bench.end()


if __name__ == "__main__":
    sys.exit(main())
