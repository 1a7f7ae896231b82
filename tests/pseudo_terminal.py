"""Programs on a pseudo terminal: what they write to it, and which letters only control it."""

import fcntl
import os
import pty
import re
import struct
import subprocess
import sys
import termios

CONTROL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


def on_terminal(code, columns=80, **environment):
    """What a program writes to a pseudo terminal of so many columns."""
    leader, follower = pty.openpty()
    fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 60, columns, 0, 0))
    given = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "COLUMNS")}
    given |= {"TERM": "xterm-256color", **environment}
    program = subprocess.Popen(
        [sys.executable, "-c", code], stdin=follower, stdout=follower, stderr=follower, env=given
    )
    os.close(follower)
    told = read_to_the_end(leader)
    assert program.wait() == 0, told
    return told


def read_to_the_end(leader):
    chunks = []
    while True:
        try:
            chunk = os.read(leader, 65536)
        except OSError:  # Linux ends a closed terminal so
            chunk = b""
        if not chunk:
            os.close(leader)
            return b"".join(chunks).decode().replace("\r\n", "\n")
        chunks.append(chunk)
