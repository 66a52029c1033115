"""A Bluetooth stack of its own for each case: two virtual controllers, bluetoothd, and a trace of every packet."""

import os
import shutil
import subprocess
import time

from rig import HERE, Failure, until

BLUETOOTHD = "/usr/libexec/bluetooth/bluetoothd"
# What bluetoothd remembers: bonds, and the services of devices that it met.
MEMORY = "/var/lib/bluetooth"
CONTROLLERS = ("hci0", "hci1")
# Left to itself bluetoothd powers every controller, and hci1 is not its own.
SETTINGS = "[Policy]\nAutoEnable=false\n"
ATTEMPTS = 5


class Stack:
    """The controllers hci0 and hci1, which hear each other, and bluetoothd on hci0."""

    def __init__(self, folder):
        self.folder = folder
        self.parts = []

    def start(self):
        shutil.rmtree(MEMORY, ignore_errors=True)
        self._start("trace", "/usr/bin/python3", "-B", f"{HERE}/trace.py", f"{self.folder}/trace.btsnoop")
        self._start_controllers()
        settings = f"{self.folder}/bluetoothd.conf"
        with open(settings, "w") as file:
            file.write(SETTINGS)
        self._start("bluetoothd", BLUETOOTHD, "-n", "-E", "-d", "-f", settings)
        until("bluetoothd to switch hci0 on", 30, self._power_on)
        subprocess.run(["hciconfig", "hci1", "down"], check=True)

    def stop(self):
        for part in reversed(self.parts):
            end(part)
        self.parts.clear()

    def _start(self, name, *command):
        with open(f"{self.folder}/{name}.log", "ab") as log:
            part = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
        self.parts.append(part)
        return part

    def _start_controllers(self):
        """Now and then a controller does not answer its first command: then both are made anew."""
        for _ in range(ATTEMPTS):
            btvirt = self._start("btvirt", "btvirt", "-L", "-l2")
            deadline = time.monotonic() + 10
            while time.monotonic() < deadline:
                if all(map(is_ready, CONTROLLERS)):
                    return
                time.sleep(0.1)
            self.parts.remove(btvirt)
            end(btvirt)
            until("the controllers to be gone", 10, lambda: not any(map(is_there, CONTROLLERS)))
        raise Failure(f"expected two controllers after {ATTEMPTS} attempts, but they did not answer")

    def _power_on(self):
        command = [
            *("dbus-send", "--system", "--print-reply", "--dest=org.bluez", "/org/bluez/hci0"),
            *("org.freedesktop.DBus.Properties.Set", "string:org.bluez.Adapter1", "string:Powered"),
            "variant:boolean:true",
        ]
        return subprocess.run(command, capture_output=True).returncode == 0


def is_there(controller):
    return os.path.exists(f"/sys/class/bluetooth/{controller}")


def is_ready(controller):
    """Whether it has told its address, which those of btvirt do in answer to their first commands."""
    shown = subprocess.run(["hciconfig", controller], capture_output=True, text=True)
    return "BD Address: 00:AA" in shown.stdout


def end(process):
    """Ends a program, by force if it does not end by itself."""
    process.terminate()
    try:
        process.wait(5)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
