"""Says which answers each operation gave, and sees that the calls reached something.

    answers.py CALLS.NDJSON ADDRESS

The token is taken from CLAMPBOOK_TOKEN. Ends with 1 if an operation was never called with success. A recording cannot
be told anything, so that of what is asked of an adapter the refusal counts; no guess is a key (screens.py uses some);
no guess is a photo, so that there is none to show; and no job of these requests is brought to where something is to be
pulled again.
"""

import collections
import json
import os
import sys
import urllib.request

REACHED = {
    "zero": 409, "identify": 409, "enter": 422, "recheck": 409, "attach": 422, "photo": 404,
}


def main(calls, address):
    given = collections.defaultdict(collections.Counter)
    with open(calls, encoding="utf-8") as lines:
        for line in lines:
            recorder = json.loads(line).get("ScenarioFinished", {}).get("recorder") or {}
            for name, call in recorder.get("interactions", {}).items():
                case = recorder["cases"][name]["value"]
                answer = call.get("response")
                status = answer["status_code"] if answer else "none"
                given[case["method"], case["path"]][status] += 1
    failed = False
    headers = {"Authorization": "Bearer " + os.environ["CLAMPBOOK_TOKEN"]}
    request = urllib.request.Request(f"http://{address}/openapi.json", headers=headers)
    with urllib.request.urlopen(request) as answer:
        paths = json.load(answer)["paths"]
    # The description itself was read to begin with.
    del paths["/openapi.json"]
    for path, item in paths.items():
        for method, operation in item.items():
            counts = given[method.upper(), path]
            wanted = REACHED.get(operation["operationId"], next(iter(sorted(operation["responses"]))))
            reached = counts[int(wanted)] > 0
            failed |= not reached
            told = ", ".join(f"{status} {count}x" for status, count in sorted(counts.items(), key=str))
            print(f"{method.upper():5} {path:32} {told}{'' if reached else f'   NEVER {wanted}'}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
