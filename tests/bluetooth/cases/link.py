"""What goes wrong between adapter and computer, and at the adapter."""

import time

from bench import FINAL_PASS, FIRST_PASS, Case, now
from daemon import expect_exactly_once
from rig import Failure, expect, until

ASLEEP = (
    "adapter L-40-280: is asleep or out of range, and a pull is due; wake it (press its button or move it) and wait "
    'for "ready" before you pull'
)


def link_lost_in_the_middle(bench):
    """The link is lost, and readings are made meanwhile."""
    bench.begin()
    adapter = bench.adapter
    adapter.pull(*FIRST_PASS[:3])
    adapter.ask("drop-link 8s")
    back = now() + 8
    adapter.wait("disconnected", 20, times=2)
    adapter.pull(*FIRST_PASS[3:])
    if (held := adapter.held()) < 3:
        raise Failure(f"expected the adapter to keep the 3 readings made without a link, but found {held}")
    bench.recovered("link lost", back)
    adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, adapter)
    bench.finish(warnings=["link-lost"])


def notifications_go_wrong(bench):
    """Readings are not notified, notified twice, and notified late, after later ones."""
    bench.begin()
    adapter = bench.adapter
    adapter.pull(FIRST_PASS[0])
    adapter.wait_released()
    adapter.ask("skip 1")
    adapter.pull(*FIRST_PASS[1:3])
    bench.recovered("notifications dropped, then one heard", adapter.happened("reading")[-1])
    adapter.ask("double 3")
    adapter.pull(*FIRST_PASS[3:])
    bench.recovered("notifications doubled", adapter.happened("reading")[-1])
    adapter.ask("delay 1 0.4")
    adapter.pull(*FINAL_PASS[:2])
    adapter.ask("delay 2 3")
    adapter.pull(*FINAL_PASS[2:5])
    bench.recovered("notifications delayed", adapter.happened("reading")[-1])
    # Nothing follows that would show that something is missing.
    adapter.ask("skip 1")
    adapter.pull(FINAL_PASS[5])
    bench.recovered("last notification dropped", adapter.happened("reading")[-1])
    # What was delayed longest comes now, when it is known already.
    time.sleep(2)
    expect_exactly_once(bench.daemon, adapter)
    bench.finish()


def adapter_restarted(bench):
    """The adapter loses its power with readings that nobody has heard, and begins a new epoch.

    It is out of reach before: when a controller of btvirt goes, the other one keeps the link for ever.
    """
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    bench.adapter.ask("drop-link 30s")
    bench.adapter.pull(*FINAL_PASS[:2])
    bench.adapter.kill()
    bench.adapter = bench.new_adapter()
    back = now()
    bench.adapter.pull(FINAL_PASS[2])
    bench.recovered("adapter restarted", back)
    bench.adapter.pull(*FINAL_PASS[3:])
    expect_exactly_once(bench.daemon, bench.adapter)
    epochs = sorted({epoch for _, epoch, *_ in bench.daemon.readings()})
    expect("epochs in the journal", epochs, [1, 2])
    bench.finish(warnings=["link-lost"])


def adapter_hangs(bench):
    """The adapter does nothing any more while the link stays: it is taken for dead, and linked anew."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    bench.adapter.wait_released()
    bench.adapter.freeze()
    until("serve to take the link for dead", 20, lambda: "link-lost" in bench.daemon.warnings())
    bench.adapter.thaw()
    back = now()
    bench.adapter.pull(*FINAL_PASS[:2])
    bench.recovered("adapter hung", back)
    bench.adapter.pull(*FINAL_PASS[2:])
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])


def asleep_and_awake(bench):
    """Sleep is announced and no fault; after waking the job goes on, and the pull that wakes is not lost."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    # A release would take the announced sleep back.
    bench.adapter.wait_released()
    bench.adapter.ask("sleep 3")
    bench.adapter.wait("disconnected", 30, times=2)
    time.sleep(5)
    wakes = now()
    bench.adapter.pull(*FINAL_PASS[:1])
    bench.recovered("short sleep", wakes)
    bench.adapter.pull(*FINAL_PASS[1:])
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


def asleep_for_ten_minutes(bench):
    """All clocks go on by ten minutes while the adapter sleeps, and serve has looked for it long enough to do so as
    seldom as it ever will. Nothing is said of it but when a pull is due, and the pull that wakes it is not lost."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS)
    bench.adapter.wait_released()
    before = bench.daemon.alarms()
    bench.adapter.ask("sleep 1")
    bench.adapter.wait("disconnected", 30, times=2)
    time.sleep(5)
    bench.pass_time(300)
    time.sleep(30)
    bench.pass_time(300)
    time.sleep(5)
    expect("what was said of a sleeping adapter", bench.daemon.alarms(), before)
    bench.daemon.run("job", "mark", "note", "the next round is due")
    bench.daemon.wait_alarm(ASLEEP, 10)
    wakes = now()
    bench.adapter.pull(*FINAL_PASS[:1])
    bench.recovered("sleep of ten minutes", wakes)
    until("serve to say that it is ready", 10, lambda: "adapter L-40-280 is ready" in bench.daemon.said())
    bench.adapter.pull(*FINAL_PASS[1:])
    expect_exactly_once(bench.daemon, bench.adapter)
    times = bench.daemon.times_of_readings()
    slept = times[len(FIRST_PASS)] - times[len(FIRST_PASS) - 1]
    if not 600 <= slept <= 700:
        raise Failure(f"expected 600 to 700 s between the readings before and after the sleep, but found {slept}")
    bench.finish()


CASES = {
    "link-lost-in-the-middle": Case(link_lost_in_the_middle, 25),
    "notifications-go-wrong": Case(notifications_go_wrong, 35),
    "adapter-restarted": Case(adapter_restarted, 25),
    "adapter-hangs": Case(adapter_hangs, 35),
    "asleep-and-awake": Case(asleep_and_awake, 30),
    "asleep-for-ten-minutes": Case(asleep_for_ten_minutes, 70),
}
