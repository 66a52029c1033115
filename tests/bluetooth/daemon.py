"""`clampbook serve`, the other verbs beside it, and the journal."""

import glob
import json
import os
import re
import sqlite3
import struct
import subprocess
from collections import Counter

from rig import Failure, expect, until


class Daemon:
    """`clampbook serve`, and the other verbs beside it."""

    def __init__(self, binary, folder, controller):
        self.binary = binary
        self.controller = controller
        self.log_path = f"{folder}/serve.log"
        self.journal = f"{folder}/journal.sqlite"
        self.process = None

    def start(self, *arguments):
        """Starts it, and waits until it answers callers."""
        with open(self.log_path, "a") as log:
            command = [self.binary, "--journal", self.journal, "serve", *arguments]
            if self.controller:
                command += ["--controller", self.controller]
            environment = os.environ | {"CLAMPBOOK_LOG": "warn,clampbook=debug"}
            self.process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, env=environment)
        until("serve to answer callers", 30, self._answers)

    def _answers(self):
        """Whether this very process has told where it is to be found."""
        if self.process.poll() is not None:
            last = self.said().strip().splitlines()[-1:]
            raise Failure(f"expected serve to go on, but it ended with {self.process.returncode}: {last}")
        for path in glob.glob(f"{os.environ['XDG_RUNTIME_DIR']}/clampbook/*.json"):
            with open(path) as file:
                if json.load(file)["pid"] == self.process.pid:
                    return True
        return False

    def run(self, *arguments, status=0):
        """Another verb; fails unless it ends with the status expected."""
        done = subprocess.run(
            [self.binary, "--journal", self.journal, *arguments], capture_output=True, text=True, timeout=60
        )
        if done.returncode != status:
            said = (done.stdout + done.stderr).strip()
            raise Failure(
                f"expected `clampbook {' '.join(arguments)}` to end with {status}, but found {done.returncode}: {said}"
            )
        return done.stdout

    def told(self, *arguments, seconds=120):
        """Status of another verb, and everything that it said."""
        done = subprocess.run(
            [self.binary, "--journal", self.journal, *arguments],
            capture_output=True, text=True, timeout=seconds, stdin=subprocess.DEVNULL,
        )
        return done.returncode, (done.stdout + done.stderr).strip()

    def said(self):
        with open(self.log_path) as log:
            return log.read()

    def alarms(self):
        """What serve warned of outside the job, whole, oldest first."""
        return re.findall(r"^\S+Z +(?:WARN|ERROR) (.*)$", self.said(), re.MULTILINE)

    def wait_alarm(self, alarm, seconds=90):
        """Waits until serve has said exactly this."""
        try:
            until("serve to say so", seconds, lambda: alarm in self.alarms())
        except Failure:
            raise Failure(f"expected serve to say within {seconds} s: {alarm}\nbut found: {self.alarms()}") from None

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        """Stops it as Ctrl-C does, and expects a clean end."""
        if self.process and self.process.poll() is None:
            self.process.terminate()
            try:
                expect("exit status of serve after SIGTERM", self.process.wait(20), 0)
            except subprocess.TimeoutExpired:
                self.kill()
                raise Failure("expected serve to stop within 20 s of SIGTERM, but it went on") from None

    def rows(self, kind, columns):
        """Those columns of every event of a kind in the journal, oldest first."""
        if not os.path.exists(self.journal):
            return []
        base = sqlite3.connect(f"file:{self.journal}?mode=ro", uri=True, timeout=10)
        try:
            return base.execute(f"SELECT {columns} FROM event WHERE kind = ? ORDER BY number", [kind]).fetchall()
        except sqlite3.OperationalError:
            return []  # the journal is just being made
        finally:
            base.close()

    def readings(self):
        """Every reading of the journal: (serial, epoch, sequence, peak in 0.01 N·m)."""
        rows = self.rows("reading", "serial, epoch, sequence, payload")
        return [(serial, epoch, sequence, peak(payload)) for serial, epoch, sequence, payload in rows]

    def raw_readings(self):
        """The same, read from the octets that were kept."""
        found = []
        for serial, raw in self.rows("reading", "serial, raw"):
            epoch, sequence, _, torque = struct.unpack_from("<HIIi", raw)
            found.append((serial, epoch, sequence, torque))
        return found

    def warnings(self):
        """The codes of all warnings in the journal, oldest first."""
        return [json.loads(payload)["code"] for (payload,) in self.rows("warning", "payload")]

    def warning_texts(self):
        """The words of all warnings in the journal, oldest first."""
        return [json.loads(payload)["text"] for (payload,) in self.rows("warning", "payload")]

    def times_of_readings(self):
        """When each reading was made, seconds since 1970, in the order in which they were kept."""
        return [at / 1e6 for (at,) in self.rows("reading", "at_us")]

    def jobs_of_readings(self):
        """The numbers of the jobs that the readings belong to; none for those that belong to no job."""
        return {job for (job,) in self.rows("reading", "job")}


def peak(payload):
    """The peak of a reading's payload, in 0.01 N·m."""
    return round(json.loads(payload)["reading"]["peak"] * 100)


def expect_exactly_once(daemon, *adapters, seconds=60):
    """The journal holds exactly the readings that the adapters made: none lost, none twice, all released."""
    made = sorted(reading for adapter in adapters for reading in adapter.made())
    until(f"{len(made)} readings in the journal", seconds, lambda: len(daemon.readings()) >= len(made))
    expect_same("readings of the journal", sorted(daemon.readings()), made)
    expect_same("octets kept in the journal", sorted(daemon.raw_readings()), made)
    for adapter in adapters:
        adapter.wait_released()


def expect_same(what, found, made):
    """Fails unless both hold the same readings, and names those that only one holds."""
    if found != made:
        missing, extra = Counter(made) - Counter(found), Counter(found) - Counter(made)
        raise Failure(f"{what}: missing {list(missing.elements())}, too many {list(extra.elements())}")
