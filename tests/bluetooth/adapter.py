"""The reference adapter: commands in, answers and events out, and its own log of what it made."""

import json
import queue
import signal
import subprocess
import threading
import time

from rig import Failure, until

# From the end of a pull to the earliest begin of the next, seconds.
NEXT_S = 1.0


def window_of(set_point):
    """Target, low and high limit of a set-point, N·m; none of them of no guidance."""
    return tuple(set_point[key] for key in ("target_nm", "low_nm", "high_nm"))


class Adapter:
    """A reference adapter on a controller of its own. What it keeps is kept in files that `name` begins."""

    def __init__(self, binary, folder, *arguments, name="adapter", hci=1):
        self.readings_path = f"{folder}/{name}-readings.ndjson"
        self.out = open(f"{folder}/{name}.log", "a", buffering=1)
        state = f"{folder}/{name}-state.json"
        files = ["--state", state, "--log", self.readings_path]
        # btvirt reports an advertisement only once, and the kernel loses what comes while a scan begins.
        command = [binary, "--hci", str(hci), "--readvertise", "1", *files, *arguments]
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
            now = time.monotonic()
            self.out.write(f"{now:.2f} {line}")
            message = {"heard": now, **json.loads(line)}
            if "event" in message:
                self.events.append(message)
            else:
                self.answers.put(message)

    def ask(self, command, seconds=60):
        """One command and its answer; a refused command is a failure."""
        self.process.stdin.write(command + "\n")
        return self.answer(command, seconds)

    def answer(self, command, seconds):
        try:
            answer = self.answers.get(timeout=seconds)
        except queue.Empty:
            raise Failure(f"expected the adapter to answer '{command}', but it did not") from None
        if not answer["ok"]:
            raise Failure(f"expected the adapter to do '{command}', but it answered: {answer['error']}")
        return answer

    def pull(self, *newton_metres):
        """Pulls, one after the other, as fast as a hand gets from one to the next."""
        for value in newton_metres:
            self.ask(f"pull {value} rotation=31 duration=300")
            time.sleep(NEXT_S)

    def held(self):
        return self.ask("status")["held"]

    def has_sent_its_trace(self):
        trace = self.ask("status")["trace"]
        return trace["made"] == trace["sent"]

    def wait_released(self, seconds=30):
        """Waits until the host has released every reading."""
        until("every reading to be released", seconds, lambda: self.held() == 0)

    def happened(self, name, **details):
        """The times of such events."""
        return [
            event["heard"]
            for event in list(self.events)
            if event["event"] == name and all(event.get(key) == value for key, value in details.items())
        ]

    def count(self, name, **details):
        """How many such events there were."""
        return len(self.happened(name, **details))

    def wait_after(self, since, name, seconds, **details):
        """Waits until there is such an event after a time, and gives the time of the first one."""
        later = lambda: [heard for heard in self.happened(name, **details) if heard >= since]
        return until(f"'{name}' {details or ''} from the adapter", seconds, later)[0]

    def wait(self, name, seconds, times=1, **details):
        """Waits until there were so many such events."""
        until(f"'{name}' {details or ''} from the adapter", seconds, lambda: self.count(name, **details) >= times)

    def wait_link(self, times=1, level=1):
        """Waits until a host listens, for the so-manieth time."""
        self.wait("subscribed", 90, times, to="status" if level else "torque", on=True)

    def wait_guided(self, window, seconds=30):
        """Waits until just this is in force: target, low and high limit, N·m; none of them if nothing is."""
        found = []

        def is_in_force():
            found[:] = [window_of(self.ask("status")["set_point"])]
            return found == [window]

        try:
            until("the set-point", seconds, is_in_force)
        except Failure:
            raise Failure(f"expected the set-point {window} within {seconds} s, but found {found[0]}") from None

    def logged(self):
        """Everything that it has ever logged: readings, and whatever else has the name of an event."""
        with open(self.readings_path) as log:
            return [json.loads(line) for line in log]

    def made(self):
        """Every reading it has ever made, by its own log: (serial, epoch, sequence, peak in 0.01 N·m)."""
        lines = [line for line in self.logged() if "event" not in line]
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
