"""A Bluetooth stack of its own for each case: two virtual controllers, bluetoothd, and a trace of every packet."""

import os
import shutil
import subprocess
import threading
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
        self.service = None
        self.bluetoothd = None
        self.killed = False
        self.stopping = False

    def start(self):
        shutil.rmtree(MEMORY, ignore_errors=True)
        self._start("trace", "/usr/bin/python3", "-B", f"{HERE}/trace.py", f"{self.folder}/trace.btsnoop")
        self._start_controllers()
        settings = f"{self.folder}/bluetoothd.conf"
        with open(settings, "w") as file:
            file.write(SETTINGS)
        self.service = threading.Thread(target=self._serve, args=[settings])
        self.service.start()
        until("bluetoothd to switch hci0 on", 30, self._power_on)
        subprocess.run(["hciconfig", "hci1", "down"], check=True)

    def stop(self):
        self.stopping = True
        for part in reversed(self.parts):
            end(part)
        if self.service:
            self.service.join()

    def _serve(self, settings):
        """Keeps bluetoothd going, as a service manager does; 5.66 now and then crashes when a link ends early."""
        while not self.stopping:
            self.bluetoothd = self._start("bluetoothd", BLUETOOTHD, "-n", "-E", "-d", "-f", settings)
            status = self.bluetoothd.wait()
            self.parts.remove(self.bluetoothd)
            if not (self.stopping or self.killed):
                print(f"note: bluetoothd ended with {status}, and was started again", flush=True)
            self.killed = False
            time.sleep(0.5)

    def kill_bluetoothd(self):
        """Kills bluetoothd, which is started again."""
        self.killed = True
        self.bluetoothd.kill()

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
    if process.poll() is None:
        process.terminate()
    try:
        process.wait(5)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
