"""Lets screens in, each with a key of its own, so that there are some to be named and shut out.

    screens.py ADDRESS COUNT

No drawn request can be counted on to do so: whoever guesses keys is soon not heard, and others with him. The token is
taken from CLAMPBOOK_TOKEN. Ends with 0 when screens 1 to COUNT are let in.
"""

import json
import os
import sys
import urllib.request


def post(address, path, body=None, headers=None):
    data = json.dumps(body).encode() if body else b""
    headers = {"Content-Type": "application/json", **(headers or {})}
    request = urllib.request.Request(f"http://{address}{path}", data=data, headers=headers, method="POST")
    with urllib.request.urlopen(request) as answer:
        assert answer.status == 201, f"{path}: expected 201, but found {answer.status}"
        return json.load(answer)


def main(address, count):
    token = {"Authorization": "Bearer " + os.environ["CLAMPBOOK_TOKEN"]}
    for number in range(1, int(count) + 1):
        key = post(address, "/v1/keys", headers=token)["key"]
        screen = post(address, "/v1/sessions", {"key": key})["session"]
        assert screen == number, f"expected screen {number}, but found {screen}"


if __name__ == "__main__":
    main(*sys.argv[1:])
