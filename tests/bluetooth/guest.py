"""Runs cases in the virtual machine, each in a process and on a Bluetooth stack of its own:

    guest.py FOLDER-OF-BINARIES NAME...

The daemon runs over BlueZ on hci0, the reference adapter over its own host stack on hci1.
"""

import os
import shutil
import signal
import subprocess
import sys
import time
import traceback

from bench import Bench
from cases import CASES
from rig import Failure

# A case that takes longer has failed.
LIMIT_S = 300


def run_one(binaries, folder, name):
    """Runs one case in this process."""
    case = CASES[name]
    bench = Bench(binaries, folder, case)
    try:
        bench.set_up()
        case.run(bench)
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
