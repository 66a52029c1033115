"""Listens to the daemon's events while others call it, and compares what it was told with the state.

    listen.py ADDRESS

Every event is compared with the description. Some listeners beside it read nothing at all. On SIGTERM it waits until
it has been told of the daemon's present revision, compares, says how many events came, and ends: 0, or 1 if something
did not fit. The token is taken from CLAMPBOOK_TOKEN.
"""

import http.client
import json
import os
import signal
import socket
import sys
import threading
import time

import jsonschema_rs

SILENT = 8
# Longer than a busy machine takes to tell of what has already happened.
PATIENCE_S = 20
HEADERS = {"Authorization": "Bearer " + os.environ["CLAMPBOOK_TOKEN"]}


def fetch(address, path):
    connection = http.client.HTTPConnection(address, timeout=PATIENCE_S)
    connection.request("GET", path, headers=HEADERS)
    answer = connection.getresponse()
    body = answer.read()
    assert answer.status == 200, f"{path}: {answer.status} {body!r}"
    return json.loads(body)


def silent(address):
    """A listener that asks and reads nothing."""
    host, port = address.rsplit(":", 1)
    connection = socket.create_connection((host, int(port)))
    head = f"GET /v1/events HTTP/1.1\r\nHost: {address}\r\nAuthorization: {HEADERS['Authorization']}\r\n\r\n"
    connection.sendall(head.encode())
    return connection


class Listener:
    """Keeps the state as told: a snapshot, then what changes."""

    def __init__(self, address, description):
        self.state = None
        self.counts = {"snapshot": 0, "change": 0}
        self.fault = None
        self.validators = {
            name: jsonschema_rs.Draft202012Validator(
                {"$ref": f"#/components/schemas/{schema}", "components": description["components"]}
            )
            for name, schema in (("snapshot", "Live"), ("change", "Change"))
        }
        self.connection = http.client.HTTPConnection(address, timeout=60)
        self.connection.request("GET", "/v1/events", headers=HEADERS)
        self.stream = self.connection.getresponse()
        threading.Thread(target=self.listen, daemon=True).start()

    def listen(self):
        try:
            event = {}
            while line := self.stream.readline().decode():
                name, _, value = line.rstrip("\n").partition(": ")
                if name in ("event", "id", "data"):
                    event[name] = value
                elif not line.strip() and event:
                    self.take(event["event"], int(event["id"]), json.loads(event["data"]))
                    event = {}
            self.fault = "the stream has ended"
        except Exception as error:  # Whatever it is, the thread that waits must hear of it.
            self.fault = f"{type(error).__name__}: {error}"

    def take(self, name, revision, fields):
        self.validators[name].validate(fields)
        assert fields["revision"] == revision, f"the id is {revision}, the revision {fields['revision']}"
        if name == "snapshot":
            self.state = fields
        else:
            before = self.state["revision"]
            assert revision == before + 1, f"a change to {revision} came after {before}"
            unknown = set(fields) - set(self.state)
            assert not unknown, f"a change names {unknown}, the snapshot did not"
            self.state = {**self.state, **fields}
        self.counts[name] += 1


def main(address):
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    listener = Listener(address, fetch(address, "/openapi.json"))
    kept = [silent(address) for _ in range(SILENT)]
    while not stop.wait(0.2) and listener.fault is None:
        pass
    end = time.monotonic() + PATIENCE_S
    state = fetch(address, "/v1/state")
    while listener.fault is None and listener.state != state:
        if time.monotonic() > end:
            listener.fault = f"it was told {listener.state}, and the state is {state}"
            break
        time.sleep(0.1)
        state = fetch(address, "/v1/state")
    for connection in kept:
        connection.close()
    if listener.fault is not None:
        print(f"events: FAILED: {listener.fault}")
        return 1
    told = ", ".join(f"{count} {name}s" for name, count in listener.counts.items())
    print(f"events: {told}; what was told is the state; {SILENT} listeners read nothing")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
