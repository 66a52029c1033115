"""A Bluetooth stack of its own for each case: virtual controllers, the system's bus, bluetoothd, and a trace of every packet."""

import os
import shutil
import socket
import subprocess
import threading
import time

from rig import HERE, Failure, end, until

BLUETOOTHD = "/usr/libexec/bluetooth/bluetoothd"
BUS = "/run/dbus/system_bus_socket"
# What bluetoothd remembers: bonds, and the services of devices that it met.
MEMORY = "/var/lib/bluetooth"
# Left to itself bluetoothd powers every controller, and those of the adapters are not its own.
SETTINGS = "[Policy]\nAutoEnable=false\n"
ATTEMPTS = 5


class Service:
    """A program that is started again whenever it ends, as a service manager does, unless it is held down."""

    def __init__(self, name, folder, *command):
        self.name = name
        self.folder = folder
        self.command = command
        self.process = None
        self.wanted = threading.Event()
        self.expected = False
        self.stopping = False
        self.thread = threading.Thread(target=self._keep)

    def start(self):
        self.wanted.set()
        self.thread.start()

    def _keep(self):
        while self.wanted.wait() and not self.stopping:
            with open(f"{self.folder}/{self.name}.log", "ab") as log:
                self.process = subprocess.Popen(self.command, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
            status = self.process.wait()
            # bluetoothd 5.66 now and then crashes when a link ends early.
            if not self.expected:
                print(f"note: {self.name} ended with {status}, and was started again", flush=True)
            self.expected = self.stopping
            time.sleep(0.5)

    def kill(self):
        """Kills it; it is started again."""
        self.expected = True
        self.process.kill()

    def hold_down(self):
        """Kills it, and holds it down until it is let up."""
        self.wanted.clear()
        self.kill()
        until(f"{self.name} to be gone", 10, lambda: self.process.poll() is not None)

    def let_up(self):
        self.expected = False
        self.wanted.set()

    def stop(self):
        self.stopping = self.expected = True
        self.wanted.set()
        if self.process:
            end(self.process)
        if self.thread.is_alive():
            self.thread.join()


class Stack:
    """The controllers hci0, hci1 and so on, which hear each other, and bluetoothd on hci0."""

    def __init__(self, folder, controllers=2):
        self.folder = folder
        self.controllers = [f"hci{index}" for index in range(controllers)]
        self.parts = []
        self.bus = Service("bus", folder, "dbus-daemon", "--system", "--nofork", "--nopidfile")
        settings = f"{folder}/bluetoothd.conf"
        self.bluetoothd = Service("bluetoothd", folder, BLUETOOTHD, "-n", "-E", "-d", "-f", settings)
        with open(settings, "w") as file:
            file.write(SETTINGS)

    def start(self):
        shutil.rmtree(MEMORY, ignore_errors=True)
        self._start("trace", "/usr/bin/python3", "-B", f"{HERE}/trace.py", f"{self.folder}/trace.btsnoop")
        self._start_controllers()
        self.bus.start()
        until("the system's bus", 30, bus_answers)
        self.bluetoothd.start()
        self.switch_on("hci0")
        for controller in self.controllers[1:]:
            subprocess.run(["hciconfig", controller, "down"], check=True)

    def stop(self):
        self.bluetoothd.stop()
        self.bus.stop()
        for part in reversed(self.parts):
            end(part)

    def stop_bus(self):
        """Kills dbus-daemon, and with it everything that cannot do without; all that stays away."""
        self.bluetoothd.wanted.clear()
        self.bluetoothd.expected = True
        self.bus.hold_down()
        until("bluetoothd to end without a bus", 20, lambda: self.bluetoothd.process.poll() is not None)

    def start_bus(self):
        """Starts both again, and hci0 is switched on, as bluetoothd does where nothing is set."""
        self.bus.let_up()
        until("the system's bus", 30, bus_answers)
        self.bluetoothd.let_up()
        self.switch_on("hci0")

    def switch_on(self, controller):
        """Switches a controller on."""
        until(f"bluetoothd to switch {controller} on", 30, lambda: power_on(controller))

    def _start(self, name, *command):
        with open(f"{self.folder}/{name}.log", "ab") as log:
            part = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
        self.parts.append(part)
        return part

    def _start_controllers(self):
        """Now and then a controller does not answer its first command: then all are made anew."""
        for _ in range(ATTEMPTS):
            btvirt = self._start("btvirt", "btvirt", "-L", f"-l{len(self.controllers)}", "-s")
            deadline = time.monotonic() + 10
            while time.monotonic() < deadline:
                if all(map(address_of, self.controllers)):
                    return
                time.sleep(0.1)
            self.parts.remove(btvirt)
            end(btvirt)
            until("the controllers to be gone", 10, lambda: not any(map(is_there, self.controllers)))
        raise Failure(f"expected {len(self.controllers)} controllers after {ATTEMPTS} attempts, but they did not answer")


def bus_answers():
    with socket.socket(socket.AF_UNIX) as caller:
        return caller.connect_ex(BUS) == 0


def is_there(controller):
    return os.path.exists(f"/sys/class/bluetooth/{controller}")


def shown(controller):
    return subprocess.run(["hciconfig", controller], capture_output=True, text=True).stdout


def is_on(controller):
    return "UP RUNNING" in shown(controller)


def address_of(controller):
    """Its address, once it has told it, which those of btvirt do in answer to their first commands."""
    _, found, rest = shown(controller).partition("BD Address: ")
    address = rest.split()[0] if found else None
    return address if address and address.startswith("00:AA") else None


def remove_device(controller, address):
    """What the system's settings do when a device is removed in them."""
    path = f"/org/bluez/{controller}"
    device = f"{path}/dev_{address.replace(':', '_')}"
    command = ["dbus-send", "--system", "--print-reply", "--dest=org.bluez", path]
    command += ["org.bluez.Adapter1.RemoveDevice", f"objpath:{device}"]
    subprocess.run(command, capture_output=True, check=True)


def power_on(controller):
    command = [
        *("dbus-send", "--system", "--print-reply", "--dest=org.bluez", f"/org/bluez/{controller}"),
        *("org.freedesktop.DBus.Properties.Set", "string:org.bluez.Adapter1", "string:Powered"),
        "variant:boolean:true",
    ]
    return subprocess.run(command, capture_output=True).returncode == 0
