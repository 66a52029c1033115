"""Writes every HCI packet of every controller to a btsnoop file, which `btmon -r` and packet analysers read.

It listens on the kernel's HCI monitor channel. (btmon can write such files too, but crashes on some packets.)
"""

import ctypes
import os
import socket
import struct
import sys
import time

BTPROTO_HCI = 1
NO_DEVICE = 0xFFFF
CHANNEL_MONITOR = 2
# Microseconds from the year 0 to 1970, as the format counts.
EPOCH = 0x00DCDDB30F2F8000
FORMAT_MONITOR = 2001

out = open(sys.argv[1], "wb", buffering=0)
out.write(b"btsnoop\0" + struct.pack(">II", 1, FORMAT_MONITOR))
monitor = socket.socket(31, socket.SOCK_RAW | socket.SOCK_CLOEXEC, BTPROTO_HCI)
address = struct.pack("<HHH", 31, NO_DEVICE, CHANNEL_MONITOR)
libc = ctypes.CDLL(None, use_errno=True)
if libc.bind(monitor.fileno(), address, len(address)) != 0:
    sys.exit(f"trace: expected the HCI monitor channel, but found: {os.strerror(ctypes.get_errno())}")
while packet := monitor.recv(4096):
    kind, index, length = struct.unpack_from("<HHH", packet)
    data = packet[6 : 6 + length]
    now = EPOCH + time.time_ns() // 1000
    out.write(struct.pack(">IIIIQ", len(data), len(data), index << 16 | kind, 0, now) + data)
