"""The cases. Runs them in the virtual machine, each in a process and on a Bluetooth stack of its own:

    cases.py FOLDER-OF-BINARIES NAME...

The daemon runs over BlueZ on hci0, the reference adapter over its own host stack on hci1. A case fails by
raising Failure, and its message says what was expected and what was found.
"""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
import traceback

from rig import CONTROLLER, HERE, Adapter, Agent, Daemon, Failure, expect, expect_exactly_once, until
from stack import Stack

PLAN = f"{HERE}/wheel.toml"
RECORDING = f"{HERE}/wheel.ndjson"
SERIAL = "L-40-280"
# A case that takes longer has failed.
LIMIT_S = 180
FIRST_PASS = (81.2, 79.6, 80.4, 82.0, 80.9, 79.1)
FINAL_PASS = (166.4, 163.8, 165.2, 167.0, 164.6, 165.9)


class Bench:
    """Bluetooth stack, agent, adapter and daemon of one case."""

    def __init__(self, binaries, folder, level):
        self.binaries = binaries
        self.folder = folder
        self.level = level
        self.stack = Stack(folder)
        self.agent = None
        self.adapter = None
        self.daemon = Daemon(f"{binaries}/clampbook", folder)

    def set_up(self):
        self.stack.start()
        self.agent = Agent(self.folder)
        self.adapter = self.new_adapter()

    def new_adapter(self):
        binary = f"{self.binaries}/clampbook-reference-adapter"
        return Adapter(binary, self.folder, "--level", str(self.level), "--recording", RECORDING)

    def bond(self):
        """Pairs as the operator does, before the first job."""
        self.adapter.ask("pairing")
        self.agent.find(self.adapter.address)
        expect("pairing in pairing mode", self.agent.pair(self.adapter.address), True)
        ends = self.adapter.count("disconnected")
        self.agent.ask(f"disconnect {self.adapter.address}", "Successful disconnected", 20)
        self.adapter.wait("disconnected", 20, times=ends + 1)

    def serve(self):
        self.daemon.start("--adapter", f"ble:{SERIAL}")

    def begin(self):
        """Bonds, starts the daemon and a job, and waits until the adapter is listened to."""
        if self.level >= 1:
            self.bond()
        self.serve()
        self.daemon.run("job", "start", PLAN)
        self.adapter.wait_link(level=self.level)

    def finish(self, warnings=()):
        """Closes the job, which nothing open prevents, and stops serve, which ends the link.

        Nothing else was warned of than what is expected: no order, no repeat, no gap.
        """
        self.daemon.run("job", "close")
        expect("warnings", self.daemon.warnings(), list(warnings))
        expect("jobs of the readings", self.daemon.jobs_of_readings(), {1})
        ends = self.adapter.count("disconnected")
        self.daemon.stop()
        self.adapter.wait("disconnected", 20, times=ends + 1)

    def end(self):
        parts = [self.daemon.stop, self.adapter and self.adapter.quit, self.agent and self.agent.quit, self.stack.stop]
        for part in filter(None, parts):
            try:
                part()
            except Exception as failure:
                print(failure)


def whole_wheel_job(bench):
    """A wheel is torqued in two passes: every reading is logged, released, judged and reported; nothing is open."""
    bench.bond()
    seen = bench.daemon.run("adapter", "scan", "--seconds", "3", "--controller", CONTROLLER, "--json")
    addresses = [json.loads(line)["address"] for line in seen.splitlines()]
    expect("addresses of the adapters seen", addresses, [bench.adapter.address])
    bench.daemon.run("adapter", "add", f"ble:{SERIAL}")
    bench.daemon.start()
    bench.daemon.run("job", "start", PLAN)
    bench.adapter.wait_link()
    bench.adapter.ask("play speed=12")
    bench.adapter.wait("played", 120)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()
    bench.daemon.run("report", "1", "--out", f"{bench.folder}/report")
    with open(f"{bench.folder}/report/report.json") as file:
        report = json.load(file)
    expect("complete in the report", report["outcome"]["complete"], True)
    (step,) = report["steps"]
    pulls = [pull["measured"] for fastener in step["fasteners"] for pull in fastener["pulls"]]
    reported = [
        (pull["key"]["serial"], pull["key"]["epoch"], pull["key"]["sequence"], round(pull["peak_nm"] * 100))
        for pull in pulls
    ]
    expect("pulls of the report", sorted(reported), sorted(bench.adapter.made()))
    with open(f"{bench.folder}/report/report.html") as file:
        html = file.read()
    expect("peaks missing in report.html", [nm for nm in FIRST_PASS + FINAL_PASS if str(nm) not in html], [])


def live_torque_only(bench):
    """An adapter of level 0: the daemon finds the peaks in the live torque by itself."""
    bench.begin()
    bench.adapter.ask("play speed=6")
    bench.adapter.wait("played", 120)
    made = [peak for *_, peak in bench.adapter.made()]
    until(f"{len(made)} readings in the journal", 60, lambda: len(bench.daemon.readings()) >= len(made))
    found = [peak for *_, peak in bench.daemon.readings()]
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
    if (held := adapter.held()) < 3:
        raise Failure(f"expected the adapter to keep the 3 readings made without a link, but found {held}")
    adapter.wait_link(times=2)
    adapter.ask("skip 2")
    adapter.pull(*FINAL_PASS[:2])
    adapter.ask("double 2")
    adapter.pull(*FINAL_PASS[2:])
    expect_exactly_once(bench.daemon, adapter)
    bench.finish(warnings=["link-lost"])


def serve_killed(bench):
    """serve is killed in the middle of a job, readings are made, and it is started again: the job goes on."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:4])
    bench.daemon.kill()
    bench.adapter.pull(*FIRST_PASS[4:])
    bench.serve()
    bench.adapter.wait_link(times=2)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


def adapter_restarted(bench):
    """The adapter loses its power with readings that nobody has heard, and begins a new epoch.

    It is out of reach before: when a controller of btvirt goes, the other one keeps the link for ever.
    """
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
    epochs = sorted({epoch for _, epoch, *_ in bench.daemon.readings()})
    expect("epochs in the journal", epochs, [1, 2])
    bench.finish(warnings=["link-lost"])


def adapter_hangs(bench):
    """The adapter does nothing any more while the link stays: it is taken for dead, and linked anew."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    bench.adapter.wait_released()
    bench.adapter.freeze()
    until("serve to take the link for dead", 20, lambda: "link-lost" in bench.daemon.warnings())
    bench.adapter.thaw()
    bench.adapter.wait_link(times=2)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])


def bluetooth_service_restarted(bench):
    """The system's Bluetooth service dies in the middle of a job, and is started again."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:4])
    bench.stack.kill_bluetoothd()
    bench.adapter.pull(*FIRST_PASS[4:])
    bench.adapter.wait_link(times=2)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])


def pairing_only_when_open(bench):
    """Outside pairing mode the adapter refuses, and the daemon says what to do, takes nothing and goes on."""
    address = bench.adapter.address
    bench.agent.find(address)
    expect("pairing outside pairing mode", bench.agent.pair(address), False)
    bench.adapter.wait("pairing-refused", 10)
    bench.serve()
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
    # A release would take the announced sleep back.
    bench.adapter.wait_released()
    bench.adapter.ask("sleep 3")
    bench.adapter.wait("disconnected", 30, times=2)
    time.sleep(5)
    bench.adapter.pull(*FINAL_PASS[:1])
    bench.adapter.wait_link(times=2)
    bench.adapter.pull(*FINAL_PASS[1:])
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


def told(bench, *arguments, seconds=90):
    """Status of a verb of clampbook, and everything that it said."""
    done = subprocess.run(
        [f"{bench.binaries}/clampbook", "--journal", bench.daemon.journal, *arguments],
        capture_output=True, text=True, timeout=seconds, stdin=subprocess.DEVNULL,
    )
    return done.returncode, (done.stdout + done.stderr).strip()


def without_agent(bench):
    """From here on, nobody but clampbook itself answers questions about pairing."""
    bench.agent.quit()
    bench.agent = None


def add(bench):
    """Adds the adapter in pairing mode, as the README says."""
    bench.adapter.ask("pairing")
    status, said = told(bench, "adapter", "add", SERIAL, "--name", "bench", "--controller", CONTROLLER)
    if status != 0:
        raise Failure(f"expected the adapter to be added, but found status {status}: {said}")
    return said


def adding_pairs_by_itself(bench):
    """`adapter add` pairs without any other agent, in pairing mode only; the adapter is zeroed and listened to."""
    without_agent(bench)
    status, said = told(bench, "adapter", "add", SERIAL, "--controller", CONTROLLER)
    expect("status outside pairing mode", status, 1)
    refused = (
        f"error: adapter {SERIAL}: refused to pair, as it does outside pairing mode; "
        "hold its button until it shows pairing mode, and run the same again within 60 s"
    )
    expect("message outside pairing mode", said.splitlines()[-1], refused)
    bench.adapter.wait("pairing-refused", 10)
    expect("adapters kept after that", bench.daemon.run("adapter", "list"), "")
    said = add(bench)
    for part in (f"adapter {SERIAL} is zeroed", f"adapter {SERIAL} paired and is kept as bench"):
        if part not in said:
            raise Failure(f"expected '{part}' to be said, but found: {said}")
    bench.daemon.start()
    bench.daemon.run("job", "start", PLAN)
    bench.adapter.wait_link()
    bench.adapter.pull(*FIRST_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    status, said = told(bench, "adapter", "zero", "bench")
    expect("status of zero through serve", (status, said.split(";")[0]), (0, f"adapter {SERIAL} is zeroed"))
    status, said = told(bench, "adapter", "identify", "--seconds", "2")
    expect("identify through serve", (status, said), (0, f"adapter {SERIAL} draws attention to itself for 2 s"))
    link = json.loads(bench.daemon.run("adapter", "show", "--json"))
    expect("link in `adapter show`", (link["serial"], link["phase"], link["trouble"]), (SERIAL, "linked", None))
    report = json.loads(bench.daemon.run("doctor", "--json"))
    expect("faults found by doctor", [check for check in report["checks"] if check["state"] == "fault"], [])
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


def impostors_are_refused(bench):
    """Something with the same name, address and serial number but other keys is refused, at either level; so is
    another serial number. No reading of theirs is kept, and the real adapter is taken up again."""
    without_agent(bench)
    add(bench)
    bench.daemon.start()
    bench.adapter.wait_link()
    bench.adapter.pull(*FIRST_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    real, made = bench.adapter, bench.adapter.made()
    real.quit()
    for level, serial in (("1", "L-40-281"), ("0", SERIAL), ("1", SERIAL)):
        folder = f"{bench.folder}/impostor-{serial}-{level}"
        os.makedirs(folder)
        arguments = ("--level", level, "--recording", RECORDING, "--serial", serial)
        impostor = Adapter(f"{bench.binaries}/clampbook-reference-adapter", folder, *arguments)
        try:
            expect("address like the real one's", impostor.address == real.address, serial == SERIAL)
            impostor.ask("pairing")
            if serial == SERIAL:
                impostor.wait("disconnected", 40, reason="Authentication Failure")
            impostor.pull(*FINAL_PASS[:2])
            time.sleep(3)
            if (level, serial) == ("1", SERIAL):
                bond_lost = f"adapter {SERIAL}: no longer answers to its bond: "
                until("serve to say so", 60, lambda: bond_lost in bench.daemon.said())
            expect("readings after an impostor", sorted(bench.daemon.readings()), sorted(made))
        finally:
            impostor.quit()
    bench.adapter = bench.new_adapter()
    bench.adapter.wait_link()
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter, seconds=120)


CASES = {
    "adding-pairs-by-itself": (adding_pairs_by_itself, 1),
    "whole-wheel-job": (whole_wheel_job, 1),
    "live-torque-only": (live_torque_only, 0),
    "link-lost-in-the-middle": (link_lost_in_the_middle, 1),
    "serve-killed": (serve_killed, 1),
    "adapter-restarted": (adapter_restarted, 1),
    "adapter-hangs": (adapter_hangs, 1),
    "bluetooth-service-restarted": (bluetooth_service_restarted, 1),
    "pairing-only-when-open": (pairing_only_when_open, 1),
    "asleep-and-awake": (asleep_and_awake, 1),
    # The last one: where the key of a bond is refused, Linux 6.1 now and then ends bluetoothd by a fault of its own
    # (list_del corruption in l2cap_sock_release), after which its Bluetooth is no longer sound.
    "impostors-are-refused": (impostors_are_refused, 1),
}


def run_one(binaries, folder, name):
    """Runs one case in this process."""
    case, level = CASES[name]
    bench = Bench(binaries, folder, level)
    try:
        bench.set_up()
        case(bench)
        return 0
    except Failure as failure:
        print(failure)
        return 1
    except Exception:
        traceback.print_exc(file=sys.stdout)
        return 1
    finally:
        bench.end()


def run_apart(binaries, folder, name):
    """Runs one case in a process group of its own, and leaves nothing of it behind. Gives whether it passed, and what it said."""
    os.makedirs(folder)
    with open(f"{folder}/case.log", "w+") as log:
        case = subprocess.Popen(
            [sys.executable, "-B", __file__, "--one", binaries, folder, name],
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=True,
        )
        try:
            status = case.wait(LIMIT_S)
        except subprocess.TimeoutExpired:
            log.write(f"expected the case to end within {LIMIT_S} s, but it went on\n")
            status = 1
        try:
            os.killpg(case.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        case.wait()
        log.seek(0)
        return status == 0, log.read()


def main():
    if sys.argv[1] == "--one":
        return run_one(*sys.argv[2:])
    binaries, *names = sys.argv[1:]
    failures = 0
    for name in names:
        # SQLite wants memory that processes share, which the files of the host are not; and those are slow.
        folder = f"/run/cases/{name}"
        start = time.monotonic()
        passed, said = run_apart(binaries, folder, name)
        shutil.move(folder, os.environ["OUT"])
        failures += not passed
        result = "ok" if passed else "FAILED"
        lines = [f"bluetooth case {name} ... {result} ({time.monotonic() - start:.1f} s)"]
        lines += [f"    {line}" for line in said.splitlines()]
        print("\n".join(lines), flush=True)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
