"""A controller that can be unplugged: one of btvirt's, over its socket, handed to the kernel."""

import os
import select
import socket
import threading

from rig import until

BTVIRT = "/tmp/bt-server-le"
VENDOR_PACKET, PRIMARY_CONTROLLER = 0xFF, 0x00
# Kinds of packet that a controller sends, with the length of their head and the place and width of what it tells.
HEADS = {0x02: (4, 2, 2), 0x03: (3, 2, 1), 0x04: (2, 1, 1), 0x05: (4, 2, 2)}


class Plug:
    """Two steps, so that the order of addresses and the order of indexes can differ."""

    def __init__(self):
        """Takes a controller: btvirt gives the lowest address that nobody has."""
        self.controller = socket.socket(socket.AF_UNIX)
        self.controller.connect(BTVIRT)
        self.kernel = None
        self.name = None
        self.threads = [threading.Thread(target=run, daemon=True) for run in (self._commands, self._events)]
        self.unplugged = False

    def plug(self):
        """Hands it to the kernel, which gives it the lowest index that is free, and tells its name."""
        self.kernel = os.open("/dev/vhci", os.O_RDWR)
        os.write(self.kernel, bytes([VENDOR_PACKET, PRIMARY_CONTROLLER]))
        packet = os.read(self.kernel, 64)
        self.name = f"hci{int.from_bytes(packet[2:4], 'little')}"
        for thread in self.threads:
            thread.start()
        until(f"{self.name} to be there", 10, lambda: os.path.exists(f"/sys/class/bluetooth/{self.name}"))
        return self.name

    def unplug(self):
        """Takes it away from the kernel. On the air it stays: btvirt would keep its links for ever without it."""
        self.unplugged = True
        # The kernel keeps it for as long as anybody reads from it.
        self.threads[0].join()
        kernel, self.kernel = self.kernel, None
        os.close(kernel)
        until(f"{self.name} to be gone", 10, lambda: not os.path.exists(f"/sys/class/bluetooth/{self.name}"))

    def leave(self):
        """Takes it off the air."""
        try:
            self.controller.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass  # gone with btvirt

    def _commands(self):
        ready = select.poll()
        ready.register(self.kernel, select.POLLIN)
        try:
            while not self.unplugged:
                if ready.poll(100):
                    self.controller.sendall(os.read(self.kernel, 4096))
        except OSError:
            pass  # gone with btvirt

    def _events(self):
        stream = self.controller.makefile("rb")
        try:
            while kind := stream.read(1):
                length, place, width = HEADS[kind[0]]
                head = stream.read(length)
                rest = int.from_bytes(head[place : place + width], "little")
                packet = kind + head + stream.read(rest & 0x3FFF if kind[0] == 0x05 else rest)
                if (kernel := self.kernel) is not None:
                    os.write(kernel, packet)
        except OSError:
            pass  # unplugged
