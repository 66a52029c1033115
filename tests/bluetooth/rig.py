"""What the cases use: the reference adapter, the daemon, an agent that agrees to pairing, and the journal."""

import json
import os
import queue
import signal
import sqlite3
import subprocess
import threading
import time


class Failure(Exception):
    """A case did not show what it had to show."""


def until(what, seconds, check):
    """Waits until `check()` gives something, and returns it; after so many seconds the case has failed."""
    end = time.monotonic() + seconds
    while True:
        found = check()
        if found:
            return found
        if time.monotonic() > end:
            raise Failure(f"expected {what} within {seconds} s, but it did not come")
        time.sleep(0.1)


class Agent:
    """bluetoothctl as the operator's agent: agrees to whatever pairing it is asked about."""

    def __init__(self, log):
        self.log = open(log, "ab", buffering=0)
        self.process = subprocess.Popen(
            ["bluetoothctl", "--agent", "NoInputNoOutput"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        self.text = b""
        threading.Thread(target=self._read, daemon=True).start()
        self.say("default-agent")

    def _read(self):
        asked = 0
        while chunk := os.read(self.process.stdout.fileno(), 4096):
            self.log.write(chunk)
            self.text += chunk
            if self.text.count(b"(yes/no)") > asked:
                asked = self.text.count(b"(yes/no)")
                self.say("yes")

    def say(self, line):
        self.process.stdin.write(line.encode() + b"\n")
        self.process.stdin.flush()

    def close(self):
        self.process.kill()
        self.process.wait()


class Adapter:
    """The reference adapter on hci1: commands in, answers and events out."""

    def __init__(self, binary, folder, *arguments):
        self.log_path = f"{folder}/adapter-readings.ndjson"
        command = [binary, "--hci", "1", "--state", f"{folder}/adapter-state.json", "--log", self.log_path, *arguments]
        self.out = open(f"{folder}/adapter.log", "a", buffering=1)
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self.out, text=True, bufsize=1
        )
        self.answers = queue.Queue()
        self.events = []
        threading.Thread(target=self._read, daemon=True).start()
        self.ask("status")

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
            raise Failure(f"expected the adapter to answer '{command}', but it did not")
        if not answer["ok"]:
            raise Failure(f"expected the adapter to do '{command}', but it answered: {answer['error']}")
        return answer

    def count(self, name, **details):
        """How many such events there were."""
        return sum(e["event"] == name and all(e.get(k) == v for k, v in details.items()) for e in self.events)

    def wait(self, name, seconds, times=1, **details):
        """Waits until there were so many such events."""
        until(f"'{name}' {details or ''} from the adapter", seconds, lambda: self.count(name, **details) >= times)

    def readings(self):
        """Every reading it has ever made, by its own log."""
        with open(self.log_path) as log:
            return [json.loads(line) for line in log]

    def kill(self):
        self.process.kill()
        self.process.wait()

    def quit(self):
        if self.process.poll() is None:
            self.process.stdin.write("quit\n")
            try:
                self.process.wait(20)
            except subprocess.TimeoutExpired:
                self.kill()
