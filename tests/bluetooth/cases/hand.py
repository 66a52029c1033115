"""The adapter guides the hand, and the hand answers with its button."""

import json

from adapter import window_of
from bench import FINAL_PASS, FIRST_PASS, Case
from daemon import expect_exactly_once
from rig import HERE, Failure, expect, until

PLAN = f"{HERE}/hand.toml"
# Target, low and high limit of the plan's passes, N·m; an early pass is judged loosely.
EARLY = (80.0, 60.0, 100.0)
FINAL = (165.0, 148.5, 181.5)
HUB = (-228.0, -205.2, -250.8)
NOTHING = (None, None, None)


def begin(bench):
    bench.bond()
    bench.serve()
    bench.daemon.run("job", "start", PLAN)
    bench.adapter.wait_link(level=bench.level)


def said(bench, words):
    """Waits until serve has said something."""
    until(f"serve to say '{words}'", 30, lambda: words in bench.daemon.said())


def set_point_before_each_fastener(bench):
    """Before each pull the adapter has the set-point of the plan's next fastener, and none while something else is
    asked, while the job is parked, and after it."""
    begin(bench)
    adapter = bench.adapter

    def cues():
        return [event["cue"] for event in list(adapter.events) if event["event"] == "cue" and event["cue"] != "nothing"]

    def pull(window, *peaks):
        for peak in peaks:
            adapter.wait_guided(window)
            before = len(cues())
            adapter.pull(peak)
            until("a cue", 20, lambda: len(cues()) > before)

    pull(EARLY, *FIRST_PASS[:3])
    adapter.wait_guided(EARLY)
    bench.daemon.run("job", "park")
    adapter.wait_guided(NOTHING)
    bench.daemon.run("job", "resume")
    pull(EARLY, *FIRST_PASS[3:])
    adapter.wait_guided(NOTHING)
    bench.daemon.run("job", "mark", "confirm", "chocked")
    pull(FINAL, *FINAL_PASS)
    pull(HUB, -229.5)
    adapter.wait_guided(NOTHING)
    expect_exactly_once(bench.daemon, adapter)
    link = json.loads(bench.daemon.run("adapter", "show", adapter.serial, "--json"))
    expect("guides in `adapter show`", link["guides"], False)
    bench.finish()
    # The adapter's own log against the plan.
    in_force, at_pulls, shown = NOTHING, [], []
    for line in adapter.logged():
        match line.get("event"):
            case None:
                at_pulls.append(in_force)
            case "set-point":
                in_force = window_of(line)
            case "set-point-ended" if line["why"] != "host":
                in_force = NOTHING
            case "guidance":
                shown.append(line["shown"])
            case "set-point-refused":
                raise Failure(f"expected every set-point to be taken, but found {line}")
    expect("set-points in force at the pulls", at_pulls, [EARLY] * 6 + [FINAL] * 6 + [HUB])
    expect("set-point in force after the job", in_force, NOTHING)
    expect("what the pulls were shown", shown, ["near", "reached", "nothing"] * 13)
    expect("alarms", bench.daemon.alarms(), [])
    expect("cues", cues(), ["reached"] * 11 + ["step done"] * 2)


def button_answers(bench):
    """The button confirms the hold that is waited for and nothing else, takes back a pull, and asks what is next. A
    press that was not heard is noticed."""
    begin(bench)
    adapter = bench.adapter
    adapter.wait_guided(EARLY)
    marks = lambda: [
        (mark["say"]["say"], mark["origin"])
        for mark in (json.loads(payload) for (payload,) in bench.daemon.rows("mark", "payload"))
    ]
    adapter.ask("button short")
    said(bench, "the button has confirmed nothing")
    expect("marks", marks(), [])
    adapter.pull(*FIRST_PASS)
    adapter.wait_guided(NOTHING)
    adapter.ask("button short")
    adapter.wait_guided(FINAL)
    expect("marks", marks(), [("confirm", "button")])
    adapter.pull(FINAL_PASS[0])
    until("7 readings in the journal", 30, lambda: len(bench.daemon.readings()) >= 7)
    adapter.ask("button double")
    until("the pull to be taken back", 30, lambda: marks()[1:] == [("retract", "button")])
    adapter.ask("button long")
    said(bench, "next: rear-left-wheel/")
    adapter.ask("drop-link 4s")
    adapter.wait("disconnected", 20, times=2)
    adapter.ask("button double")
    # Once it guides again it is listened to: what it says before that nobody hears.
    adapter.wait_guided(NOTHING)
    adapter.wait_guided(FINAL, 90)
    adapter.ask("button long")
    said(bench, f"adapter {adapter.serial}: 1 press of its button was not heard, and did nothing")
    adapter.pull(*FINAL_PASS)
    adapter.wait_guided(HUB)
    adapter.pull(-229.5)
    expect_exactly_once(bench.daemon, adapter)
    expect("marks", marks(), [("confirm", "button"), ("retract", "button")])
    presses = [(line["press"], line["counter"]) for line in adapter.logged() if line.get("event") == "button"]
    expect("presses", presses, list(zip(("short", "short", "double", "long", "double", "long"), range(1, 7))))
    bench.finish(warnings=["link-lost"])


def guiding_lets_it_sleep(bench):
    """A set-point is renewed while it is asked, but not once the adapter has said that it goes to sleep: a write would
    keep it awake. It sleeps, forgets the set-point, and guides again once it is awake and linked."""
    begin(bench)
    adapter = bench.adapter
    adapter.wait_guided(EARLY)
    remaining = lambda: adapter.ask("status")["set_point"]["seconds"]
    # Written for 60 s and renewed after 30 s.
    until("less than 35 s to remain", 40, lambda: remaining() < 35)
    until("the set-point to be renewed", 20, lambda: remaining() > 50)
    until("less than 34 s to remain", 40, lambda: remaining() < 34)
    written = adapter.count("set-point")
    adapter.ask("sleep 10")
    adapter.wait("disconnected", 30, times=2)
    expect("set-points written before it slept", adapter.count("set-point"), written)
    expect("why the guidance ended", [event["why"] for event in adapter.events if event["event"] == "set-point-ended"], ["sleep"])
    adapter.ask("wake")
    adapter.wait_link(times=2)
    adapter.wait_guided(EARLY)
    adapter.pull(*FIRST_PASS)
    adapter.wait_guided(NOTHING)
    bench.daemon.run("job", "mark", "confirm", "chocked")
    adapter.pull(*FINAL_PASS)
    adapter.wait_guided(HUB)
    adapter.pull(-229.5)
    expect_exactly_once(bench.daemon, adapter)
    bench.finish()


CASES = {
    "set-point-before-each-fastener": Case(set_point_before_each_fastener, 60, level=2),
    "button-answers": Case(button_answers, 60, level=2),
    "guiding-lets-it-sleep": Case(guiding_lets_it_sleep, 130, level=2),
}
