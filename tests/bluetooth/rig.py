"""What the cases use: the reference adapter, the daemon, the operator's agent, and the journal."""

import glob
import json
import os
import queue
import re
import signal
import sqlite3
import struct
import subprocess
import threading
import time

HERE = os.path.dirname(os.path.abspath(__file__))
CONTROLLER = "hci0"


class Failure(Exception):
    """A case did not show what it had to show."""


def expect(what, found, expected):
    """Fails unless what was found is what was expected."""
    if found != expected:
        raise Failure(f"{what}: expected {expected}, but found {found}")


def until(what, seconds, check):
    """Waits until `check()` gives something, and returns it; after so many seconds the case has failed."""
    end = time.monotonic() + seconds
    while True:
        found = check()
        if found:
            return found
        if time.monotonic() > end:
            raise Failure(f"expected {what} within {seconds} s, but it did not come")
        time.sleep(0.2)


class Agent:
    """bluetoothctl in the operator's hands: agrees to whatever pairing it is asked about."""

    def __init__(self, folder):
        self.log = open(f"{folder}/agent.log", "ab", buffering=0)
        self.process = subprocess.Popen(
            ["bluetoothctl", "--agent", "NoInputNoOutput"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        self.text = ""
        threading.Thread(target=self._read, daemon=True).start()
        self.say("default-agent")

    def _read(self):
        agreed = 0
        while chunk := os.read(self.process.stdout.fileno(), 4096):
            self.log.write(chunk)
            self.text += chunk.decode(errors="replace")
            asked = self.text.count("(yes/no)")
            if asked > agreed:
                agreed = asked
                self.say("yes")

    def say(self, line):
        self.process.stdin.write(line.encode() + b"\n")
        self.process.stdin.flush()

    def ask(self, line, answer, seconds):
        """Says a line, and waits for one of the answers that the pattern names."""
        start = len(self.text)
        self.say(line)
        pattern = re.compile(answer)
        return until(f"'{answer}' after '{line}'", seconds, lambda: pattern.search(self.text, start)).group()

    def find(self, address):
        """Looks around until the adapter is seen."""
        self.say("scan le")
        until(f"{address} to be seen", 30, lambda: address in self.text)
        self.say("scan off")

    def quit(self):
        self.process.stdin.close()
        try:
            self.process.wait(5)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()

    def pair(self, address, seconds=40):
        """Pairs, and says whether that succeeded."""
        answer = self.ask(f"pair {address}", "Pairing successful|Failed to pair: [A-Za-z.]+", seconds)
        return answer == "Pairing successful"


class Adapter:
    """The reference adapter on hci1: commands in, answers and events out."""

    def __init__(self, binary, folder, *arguments):
        self.readings_path = f"{folder}/adapter-readings.ndjson"
        self.out = open(f"{folder}/adapter.log", "a", buffering=1)
        state = f"{folder}/adapter-state.json"
        files = ["--state", state, "--log", self.readings_path]
        # btvirt reports an advertisement only once, and the kernel loses what comes while a scan begins.
        command = [binary, "--hci", "1", "--readvertise", "1", *files, *arguments]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self.out, text=True, bufsize=1
        )
        self.answers = queue.Queue()
        self.events = []
        threading.Thread(target=self._read, daemon=True).start()
        self.wait("started", 20)
        self.address = self.events[0]["address"]
        self.serial = self.events[0]["serial"]

    def _read(self):
        for line in self.process.stdout:
            self.out.write(f"{time.monotonic():.2f} {line}")
            message = json.loads(line)
            if "event" in message:
                self.events.append(message)
            else:
                self.answers.put(message)

    def ask(self, command, seconds=60):
        """One command and its answer; a refused command is a failure."""
        self.process.stdin.write(command + "\n")
        try:
            answer = self.answers.get(timeout=seconds)
        except queue.Empty:
            raise Failure(f"expected the adapter to answer '{command}', but it did not") from None
        if not answer["ok"]:
            raise Failure(f"expected the adapter to do '{command}', but it answered: {answer['error']}")
        return answer

    def pull(self, *newton_metres):
        for value in newton_metres:
            self.ask(f"pull {value} rotation=31 duration=300")

    def held(self):
        return self.ask("status")["held"]

    def wait_released(self, seconds=30):
        """Waits until the host has released every reading."""
        until("every reading to be released", seconds, lambda: self.held() == 0)

    def count(self, name, **details):
        """How many such events there were."""
        return sum(
            event["event"] == name and all(event.get(key) == value for key, value in details.items())
            for event in self.events
        )

    def wait(self, name, seconds, times=1, **details):
        """Waits until there were so many such events."""
        until(f"'{name}' {details or ''} from the adapter", seconds, lambda: self.count(name, **details) >= times)

    def wait_link(self, times=1, level=1):
        """Waits until a host listens, for the so-manieth time."""
        self.wait("subscribed", 90, times, to="status" if level else "torque", on=True)

    def made(self):
        """Every reading it has ever made, by its own log: (serial, epoch, sequence, peak in 0.01 N·m)."""
        with open(self.readings_path) as log:
            lines = [json.loads(line) for line in log]
        return [(self.serial, line["epoch"], line["sequence"], round(line["peak_nm"] * 100)) for line in lines]

    def freeze(self):
        """It does nothing any more; its controller does, so that the link stays."""
        self.process.send_signal(signal.SIGSTOP)

    def thaw(self):
        self.process.send_signal(signal.SIGCONT)

    def kill(self):
        self.process.kill()
        self.process.wait()

    def quit(self):
        self.thaw()
        if self.process.poll() is None:
            self.process.stdin.write("quit\n")
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.kill()


class Daemon:
    """`clampbook serve`, and the other verbs beside it."""

    def __init__(self, binary, folder):
        self.binary = binary
        self.log_path = f"{folder}/serve.log"
        self.journal = f"{folder}/journal.sqlite"
        self.process = None

    def start(self, *arguments):
        """Starts it, and waits until it answers callers."""
        with open(self.log_path, "a") as log:
            command = [self.binary, "--journal", self.journal, "serve", "--controller", CONTROLLER, *arguments]
            self.process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
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

    def said(self):
        with open(self.log_path) as log:
            return log.read()

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

    def jobs_of_readings(self):
        """The numbers of the jobs that the readings belong to; none for those that belong to no job."""
        return {job for (job,) in self.rows("reading", "job")}


def peak(payload):
    """The peak of a reading's payload, in 0.01 N·m."""
    return round(json.loads(payload)["reading"]["peak"] * 100)


def expect_exactly_once(daemon, adapter, seconds=60):
    """The journal holds exactly the readings that the adapter made: none lost, none twice, all released."""
    made = adapter.made()
    until(f"{len(made)} readings in the journal", seconds, lambda: len(daemon.readings()) >= len(made))
    expect("readings of the journal", sorted(daemon.readings()), sorted(made))
    expect("octets kept in the journal", sorted(daemon.raw_readings()), sorted(made))
    adapter.wait_released()
