"""Jobs in which nothing goes wrong but what the operator does."""

import json
import math
import time
from concurrent.futures import ThreadPoolExecutor

from adapter import NEXT_S
from bench import FINAL_PASS, FIRST_PASS, SERIAL, Case, now
from daemon import expect_exactly_once
from rig import HERE, Failure, expect, until

SAMPLES = f"{HERE}/../../samples"


def whole_wheel_job(bench):
    """A wheel is torqued in two passes: every reading is logged, released, judged and reported; nothing is open."""
    bench.bond()
    seen = bench.daemon.run("adapter", "scan", "--seconds", "3", "--controller", "hci0", "--json")
    addresses = [json.loads(line)["address"] for line in seen.splitlines()]
    expect("addresses of the adapters seen", addresses, [bench.adapter.address])
    bench.daemon.run("adapter", "add", f"ble:{SERIAL}")
    bench.daemon.start()
    bench.daemon.run("job", "start", f"{HERE}/wheel.toml")
    bench.adapter.wait_link()
    bench.adapter.ask("play speed=6")
    bench.adapter.wait("played", 120)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()
    bench.daemon.run("report", "1", "--out", f"{bench.folder}/report")
    with open(f"{bench.folder}/report/report.json") as file:
        report = json.load(file)
    expect("complete in the report", report["outcome"]["complete"], True)
    (step,) = report["steps"]
    pulls = [pull["measured"] for fastener in step["fasteners"] for pull in fastener["pulls"]]
    reported = [
        (pull["key"]["serial"], pull["key"]["epoch"], pull["key"]["sequence"], round(pull["peak_nm"] * 100))
        for pull in pulls
    ]
    expect("pulls of the report", sorted(reported), sorted(bench.adapter.made()))
    with open(f"{bench.folder}/report/report.html") as file:
        html = file.read()
    expect("peaks missing in report.html", [nm for nm in FIRST_PASS + FINAL_PASS if str(nm) not in html], [])


def live_torque_only(bench):
    """An adapter of level 0: the daemon finds the peaks in the live torque by itself."""
    bench.begin()
    # Without rotation, pulls that follow each other faster than a hand gets to the next nut are on the same one.
    bench.adapter.ask("play speed=2.5")
    bench.adapter.wait("played", 120)
    made = [peak for *_, peak in bench.adapter.made()]
    until(f"{len(made)} readings in the journal", 60, lambda: len(bench.daemon.readings()) >= len(made))
    found = [peak for *_, peak in bench.daemon.readings()]
    expect("number of readings in the journal", len(found), len(made))
    for place, (true, heard) in enumerate(zip(made, found), 1):
        if abs(heard - true) > true / 100:
            raise Failure(f"reading {place}: expected a peak within 1 % of {true / 100} N·m, but found {heard / 100}")
    bench.finish()


def two_adapters(bench):
    """A small and a large adapter at once, each for what its range covers; one loses its link while the other is used.

    Each has a controller of the computer for itself: btvirt 5.66 tells the peripheral the handle that the link has at
    the central, which is not its own once the central has two links, and then it cannot answer.
    """
    bench.without_agent()
    recording = f"{SAMPLES}/recordings/two-adapters.ndjson"
    bench.adapter.quit()
    small, large = (
        bench.new_adapter("--recording", recording, "--adapter", which, "--name", which, name=which, hci=hci)
        for which, hci in (("small", 1), ("large", 2))
    )
    bench.stack.switch_on("hci3")
    for adapter, name, controller in ((small, "small", "hci0"), (large, "large", "hci3")):
        bench.add(adapter, name=name, controller=controller)
    bench.adapter = large
    bench.daemon.start()
    bench.daemon.run("job", "start", f"{SAMPLES}/plans/two-adapters.toml")
    small.wait_link()
    large.wait_link()
    large.pull(26.1)
    until("a warning of the range", 30, bench.daemon.warnings)
    expect(
        "what was said of the range",
        bench.daemon.warning_texts()[-1],
        f"26.1 N·m is outside what adapter {large.serial} measures (40–280 N·m). It does not count: pull with an "
        "adapter whose range covers it.",
    )
    small.pull(26.2, 25.8)
    bench.daemon.run("job", "mark", "confirm", "ride-height")
    small.ask("drop-link 6s")
    back = now() + 6
    small.pull(26.0)
    large.pull(178.1)
    bench.recovered("link of one adapter of two lost", back, small)
    with ThreadPoolExecutor() as hands:
        list(hands.map(lambda pull: pull[0].pull(*pull[1]), ((small, (25.9, 26.1)), (large, (177.8, 178.4)))))
    expect_exactly_once(bench.daemon, small, large)
    for adapter in (small, large):
        mine = [reading for reading in bench.daemon.readings() if reading[0] == adapter.serial]
        expect(f"readings of {adapter.serial}", sorted(mine), sorted(adapter.made()))
    bench.finish(warnings=["adapter-range", "link-lost"])


def traces_of_the_pulls(bench):
    """An adapter of level 2 sends the trace of each pull: it is kept beside its reading. Blocks that are lost leave a
    hole that is told, and cost no reading."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    until("every block to be sent", 20, bench.adapter.has_sent_its_trace)
    # Three blocks are of the time before a pull.
    bench.adapter.ask("lose-blocks 2 4")
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    made = bench.adapter.made()
    until(f"{len(made)} readings described", 60, lambda: len(bench.daemon.rows("described", "number")) >= len(made))
    shown = [json.loads(payload) for (payload,) in bench.daemon.rows("described", "payload")]
    keys = [(one["key"]["serial"], one["key"]["epoch"], one["key"]["sequence"]) for one in shown]
    expect("readings described twice", sorted(keys), sorted(set(keys)))
    peaks = {(serial, epoch, number): peak / 100 for serial, epoch, number, peak in made}
    holes = 0
    for one in shown:
        key = one["key"]
        told = peaks[key["serial"], key["epoch"], key["sequence"]]
        description = one["described"]["description"]
        missing = description["seen"]["missing"]
        holes += missing > 0
        # The adapter takes the peak from more samples than it sends.
        if not missing and abs(description["peak"]["torque"] - told) > told / 50:
            raise Failure(f"expected a trace with its peak near {told} N·m, but found {description['peak']['torque']}")
    expect("pulls with a hole in their trace", holes, 1)
    link = json.loads(bench.daemon.run("adapter", "show", SERIAL, "--json"))
    expect("blocks lost in `adapter show`", link["trace_blocks_lost"], 2)
    bench.finish()
    bench.daemon.run("report", "1", "--out", f"{bench.folder}/report")
    with open(f"{bench.folder}/report/report.html") as file:
        # One drawing a tightening: each nut in each pass.
        expect("drawings in the report", file.read().count("<svg width="), len(shown))


def motion_between_pulls(bench):
    """An adapter of level 3 tells how the tool moved from nut to nut: each motion is kept, after its reading, even if
    that has to be fetched; and two nuts that the other way round would have been right are told of at once."""
    bench.begin()
    lies = lambda stud: (57 * math.sin(math.tau * stud / 6), 57 * math.cos(math.tau * stud / 6))
    order = (1, 4, 2, 5, 3, 6, 1, 4, 2, 3, 5, 6)
    before = None
    for place, (stud, peak) in enumerate(zip(order, FIRST_PASS + FINAL_PASS)):
        here = lies(stud)
        moved = before and f"right={here[0] - before[0]:.0f} up={here[1] - before[1]:.0f} sd=8"
        if place == 4:
            bench.adapter.ask("skip 1")
        bench.adapter.ask(f"pull {peak} rotation=31 duration=300 {moved or ''}")
        before = here
        time.sleep(NEXT_S)
    expect_exactly_once(bench.daemon, bench.adapter)
    rows = lambda: bench.daemon.rows("motion", "payload")
    until("the last motion in the journal", 20, lambda: len(rows()) >= len(order) - 1)
    motions = [json.loads(payload) for (payload,) in rows()]
    pairs = [(motion["from_seq"], motion["to_seq"]) for motion in motions]
    # One that had to be fetched may come after later ones.
    expect("motions in the journal", sorted(pairs), [(place, place + 1) for place in range(1, len(order))])
    bench.finish(warnings=["order"])


CASES = {
    "whole-wheel-job": Case(whole_wheel_job, 30),
    "live-torque-only": Case(live_torque_only, 60, level=0),
    "traces-of-the-pulls": Case(traces_of_the_pulls, 30, level=2),
    "motion-between-pulls": Case(motion_between_pulls, 30, level=3),
    "two-adapters": Case(two_adapters, 40, controllers=4, controller=None),
}
