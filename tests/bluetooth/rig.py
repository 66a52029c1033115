"""What everything here uses: how a case fails, and how it waits; and the operator's agent."""

import os
import re
import subprocess
import threading
import time

HERE = os.path.dirname(os.path.abspath(__file__))


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


def end(process):
    """Ends a program, by force if it does not end by itself."""
    if process.poll() is None:
        process.terminate()
    try:
        process.wait(5)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


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
        # Before that the computer makes no bonds: a pairing would leave nothing behind.
        until("bluetoothctl to be registered as an agent", 30, lambda: "Agent registered" in self.text)
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


