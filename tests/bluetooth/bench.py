"""The bench of one case: Bluetooth stack, agent, adapters and daemon."""

import time
from dataclasses import dataclass
from typing import Callable

from adapter import Adapter
from daemon import Daemon
from rig import HERE, Agent, expect, until
from stack import Stack

PLAN = f"{HERE}/wheel.toml"
RECORDING = f"{HERE}/wheel.ndjson"
SERIAL = "L-40-280"
NO_SERVICE = (
    "the system's Bluetooth service (bluetoothd) is not running; start it (`sudo systemctl start bluetooth`); it is "
    "taken up by itself"
)
FIRST_PASS = (81.2, 79.6, 80.4, 82.0, 80.9, 79.1)
FINAL_PASS = (166.4, 163.8, 165.2, 167.0, 164.6, 165.9)


@dataclass(frozen=True)
class Case:
    """What is run, and what it is run on."""

    run: Callable
    # How long it takes on an idle machine, seconds: the cases are dealt out by that.
    seconds: int
    level: int = 1
    controllers: int = 2
    # The controller that serve is told to use; none: it knows by itself.
    controller: str | None = "hci0"
    # Runs last on its machine, and nothing after it: it may leave the kernel's Bluetooth unsound.
    last: bool = False


class Bench:
    """What a case works with."""

    def __init__(self, binaries, folder, case):
        self.binaries = binaries
        self.folder = folder
        self.level = case.level
        self.stack = Stack(folder, case.controllers)
        self.agent = None
        self.adapters = []
        self.daemon = Daemon(f"{binaries}/clampbook", folder, case.controller)

    def set_up(self):
        self.stack.start()
        self.agent = Agent(self.folder)
        self.adapter = self.new_adapter()

    def new_adapter(self, *arguments, folder=None, **more):
        """A reference adapter, the usual one unless the arguments say otherwise."""
        binary = f"{self.binaries}/clampbook-reference-adapter"
        usual = ("--level", str(self.level), "--recording", RECORDING)
        adapter = Adapter(binary, folder or self.folder, *usual, *arguments, **more)
        self.adapters.append(adapter)
        return adapter

    def without_agent(self):
        """From here on, nobody but clampbook itself answers questions about pairing."""
        self.agent.quit()
        self.agent = None

    def bond(self, adapter=None):
        """Pairs by the system's own means, before the first job."""
        adapter = adapter or self.adapter
        adapter.ask("pairing")
        self.agent.find(adapter.address)
        expect("pairing in pairing mode", self.agent.pair(adapter.address), True)
        ends = adapter.count("disconnected")
        self.agent.ask(f"disconnect {adapter.address}", "Successful disconnected", 20)
        adapter.wait("disconnected", 20, times=ends + 1)

    def add(self, adapter=None, *, name="bench", controller="hci0"):
        """Adds an adapter in pairing mode, as the README says."""
        adapter = adapter or self.adapter
        adapter.ask("pairing")
        words = ("adapter", "add", adapter.serial, "--name", name, "--controller", controller)
        status, said = self.again_without_service(*words)
        expect(f"status of `{' '.join(words)}`, which said: {said}", status, 0)
        return said

    def again_without_service(self, *words):
        """A verb as the operator runs it: once more while the service is away. Where the key of a bond is refused,
        bluetoothd 5.66 ends by a fault of its own, and is started again."""
        end = time.monotonic() + 60
        while True:
            status, said = self.daemon.told(*words)
            if status == 0 or NO_SERVICE not in said or time.monotonic() > end:
                return status, said
            time.sleep(1)

    def serve(self):
        self.daemon.start("--adapter", f"ble:{SERIAL}")

    def begin(self):
        """Bonds, starts the daemon and a job, and waits until the adapter is listened to."""
        if self.level >= 1:
            self.bond()
        self.serve()
        self.daemon.run("job", "start", PLAN)
        self.adapter.wait_link(level=self.level)

    def begin_added(self):
        """The same with an adapter that was added, and without anybody else who could pair."""
        self.without_agent()
        self.add()
        self.daemon.start()
        self.daemon.run("job", "start", PLAN)
        self.adapter.wait_link()

    def recovered(self, fault, since, adapter=None, seconds=120):
        """Waits until everything that was made during a fault is in the journal and released, and tells how long that
        took since the fault was taken away. Something has to have been made."""
        done = (adapter or self.adapter).wait_after(since, "released", seconds, held=0)
        print(f"recovery from {fault}: {done - since:.2f} s", flush=True)

    def pass_time(self, seconds):
        """The clocks of computer and adapters go on by so much at once."""
        now = time.clock_gettime(time.CLOCK_REALTIME)
        time.clock_settime(time.CLOCK_REALTIME, now + seconds)
        for adapter in self.adapters:
            if adapter.process.poll() is None:
                adapter.ask(f"elapse {seconds}")

    def finish(self, warnings=()):
        """Closes the job, which nothing open prevents, and stops serve, which ends the links.

        Nothing else was warned of than what is expected: no order, no repeat, no gap.
        """
        self.daemon.run("job", "close")
        expect("warnings", self.daemon.warnings(), list(warnings))
        expect("jobs of the readings", self.daemon.jobs_of_readings(), {1})
        ends = self.adapter.count("disconnected")
        self.daemon.stop()
        self.adapter.wait("disconnected", 20, times=ends + 1)

    def end(self):
        parts = [self.daemon.stop, *(adapter.quit for adapter in self.adapters)]
        parts += [self.agent and self.agent.quit, self.stack.stop]
        for part in filter(None, parts):
            try:
                part()
            except Exception as failure:
                print(failure)


def now():
    """The time as the adapters' events have it."""
    return time.monotonic()
