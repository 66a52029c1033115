"""What goes wrong on the computer: its controller, its services, its programs."""

import time

from bench import FINAL_PASS, FIRST_PASS, NO_SERVICE, PLAN, Case, now
from daemon import expect_exactly_once
from plug import Plug
from rig import expect, until
from stack import address_of, is_on

BACKLOG = 2_000
READING = "25ba0003-67a8-42e6-af58-5fc8e75d5fd1"
NO_BUS = (
    "the system's message bus (D-Bus) does not answer; start it; in a container, give the container the host's bus"
)
SWITCHED_OFF = (
    "the Bluetooth controller hci0 is switched off; switch Bluetooth on in the system's settings (on Linux also "
    "`bluetoothctl power on`); it is never switched on from here"
)
RIVAL = (
    "adapter L-40-280: its readings arrive twice: another program on this computer listens to it too; close the other "
    "program; nothing is lost or counted twice meanwhile"
)


def serve_killed(bench):
    """serve is killed in the middle of a job, readings are made, and it is started again: the job goes on."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:4])
    bench.daemon.kill()
    bench.adapter.pull(*FIRST_PASS[4:])
    back = now()
    bench.serve()
    bench.recovered("serve killed", back)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()


def backlog(bench):
    """2 000 readings are made while serve is away: each is fetched, kept and released."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS, *FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish()
    # The adapter makes them a second apart by its own clock; the computer's goes on as far.
    time.clock_settime(time.CLOCK_REALTIME, time.time() + BACKLOG)
    bench.adapter.ask(f"fill {BACKLOG} 165.0")
    back = now()
    bench.serve()
    # Nobody has opened a job for them: they are kept loose.
    bench.recovered(f"backlog of {BACKLOG} readings", back, seconds=200)
    expect("readings that the adapter made", len(bench.adapter.made()), BACKLOG + 12)
    expect_exactly_once(bench.daemon, bench.adapter)


def bluetooth_service_restarted(bench):
    """The system's Bluetooth service dies in the middle of a job, stays away for a while, and is started again; then it
    dies once more, and is started again at once."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:2])
    bench.stack.bluetoothd.hold_down()
    bench.adapter.pull(*FIRST_PASS[2:4])
    bench.daemon.wait_alarm(NO_SERVICE)
    back = now()
    bench.stack.bluetoothd.let_up()
    bench.recovered("bluetoothd away for a while", back)
    back = now()
    bench.stack.bluetoothd.kill()
    bench.adapter.pull(*FIRST_PASS[4:])
    bench.recovered("bluetoothd killed and restarted", back)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost", "link-lost"])


def bus_restarted(bench):
    """The system's bus dies in the middle of a job, and bluetoothd with it; both are started again."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:4])
    bench.without_agent()
    bench.stack.stop_bus()
    bench.adapter.pull(*FIRST_PASS[4:])
    bench.daemon.wait_alarm(NO_BUS)
    back = now()
    bench.stack.start_bus()
    bench.recovered("dbus-daemon killed and restarted", back)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])


def controller_switched_off(bench):
    """The operator switches the controller off and on again; serve says what is the matter, and never does that itself."""
    bench.begin()
    bench.adapter.pull(*FIRST_PASS[:3])
    bench.agent.ask("power off", "Changing power off succeeded", 20)
    bench.adapter.pull(*FIRST_PASS[3:])
    bench.daemon.wait_alarm(SWITCHED_OFF)
    for _ in range(10):
        expect("whether the controller is on", is_on("hci0"), False)
        time.sleep(1)
    back = now()
    bench.agent.ask("power on", "Changing power on succeeded", 20)
    bench.recovered("controller switched off and on", back)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])


def controller_unplugged(bench):
    """The controller is unplugged in the middle of a job, and comes back under another index, because another one has
    taken its own; bonds and adapter go by its address."""
    bench.without_agent()
    ours = Plug()
    name = ours.plug()
    until(f"{name} to answer", 20, lambda: address_of(name))
    address = address_of(name)
    bench.stack.switch_on(name)
    bench.add(controller=name)
    bench.daemon.start()
    bench.daemon.run("job", "start", PLAN)
    bench.adapter.wait_link()
    bench.adapter.pull(*FIRST_PASS[:3])
    ends = bench.adapter.count("disconnected")
    ours.unplug()
    # What a radio does by itself once the other side is silent.
    bench.adapter.ask("drop-link 1s")
    bench.adapter.wait("disconnected", 20, times=ends + 1)
    ours.leave()
    bench.adapter.pull(*FIRST_PASS[3:])
    bench.daemon.wait_alarm(
        f"expected the Bluetooth controller {address}, but found only hci0; plug it in, or name another with --controller"
    )
    ours, other = Plug(), Plug()
    expect("name of the other controller", other.plug(), name)
    back = now()
    again = ours.plug()
    if again == name:
        expect("name of the controller", again, "another one")
    until(f"{again} to answer", 20, lambda: address_of(again))
    expect("address of the controller", address_of(again), address)
    bench.stack.switch_on(again)
    bench.recovered("controller unplugged, back under another index", back)
    bench.adapter.pull(*FINAL_PASS)
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])
    ours.unplug()
    other.unplug()


def rival(bench):
    """Another program listens to the same readings, stops that, and then ends the link."""
    bench.begin()
    bench.agent.say("menu gatt")
    bench.agent.say(f"select-attribute {READING}")
    bench.agent.ask("notify on", "Notify started", 20)
    bench.adapter.pull(*FIRST_PASS)
    bench.daemon.wait_alarm(RIVAL, 30)
    bench.agent.ask("notify off", "Notify stopped", 20)
    bench.agent.say("back")
    bench.adapter.pull(*FINAL_PASS[:3])
    expect_exactly_once(bench.daemon, bench.adapter)
    back = now()
    bench.agent.ask(f"disconnect {bench.adapter.address}", "Successful disconnected", 20)
    bench.adapter.pull(FINAL_PASS[3])
    bench.recovered("link ended by another program", back)
    bench.adapter.pull(*FINAL_PASS[4:])
    expect_exactly_once(bench.daemon, bench.adapter)
    bench.finish(warnings=["link-lost"])


CASES = {
    "serve-killed": Case(serve_killed, 20),
    "backlog-of-2000": Case(backlog, 90),
    "bluetooth-service-restarted": Case(bluetooth_service_restarted, 35),
    "bus-restarted": Case(bus_restarted, 45),
    "controller-switched-off": Case(controller_switched_off, 45),
    "controller-unplugged": Case(controller_unplugged, 45, controller=None),
    "rival-on-the-same-computer": Case(rival, 30),
}
