"""Deliveries that are ended by force, and deliveries side by side: run as a program of its own.

    python deliveries.py ended FOLDER exchange|moves     at each call of the system in turn
    python deliveries.py killed FOLDER exchange|moves N  N times, at random moments
    python deliveries.py beside FOLDER N                 N pairs at the same time

It ends with an error where what a delivery promises does not hold, and prints what it counted.
"""

import os
import random
import signal
import sys
import time
from pathlib import Path

from coilgen.cli import delivery

NAME = "blade"
FIRST, SECOND = (
    {f"{NAME}.svg": text, f"fab/{NAME}.gbrjob": text, **{f"fab/{NAME}-{k}.gbr": text for k in range(2)}}
    for text in (b"first" * 2000, b"second" * 2000)
)
ENDED = 9
KEPT = {"mine.txt": b"mine", "fab/order.txt": b"mine"}


def tree(folder):
    """Contents by path, hidden folders beside it left out."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def hidden(place):
    return [path.name for path in place.parent.iterdir() if path.name.startswith(".")]


def laid(folder):
    """A first delivery, and what its user put beside it."""
    place = folder / "out" / NAME
    delivery.deliver(FIRST, place, NAME)
    for path, content in KEPT.items():
        (place / path).write_bytes(content)
    return place


def held(place):
    """The next run finds one of the two whole, the user's files with it, and leaves nothing hidden."""
    gone = not place.exists()
    delivery.recover(place)
    found = tree(place)
    assert found in (FIRST | KEPT, SECOND | KEPT), sorted(found)
    assert hidden(place) == []
    return gone, found == SECOND | KEPT


def ended(place):
    """Ends a delivery at its first call of the system, at its second … until one comes through."""
    count, absent = 0, 0
    while True:
        child = os.fork()
        if child == 0:
            end_at(count)
            delivery.deliver(SECOND, place, NAME)
            os._exit(0)
        status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        assert status in (0, ENDED)
        gone, second = held(place)
        absent += gone
        if status == 0:
            assert second
            return f"{count} calls, absent {absent} times until the next run"
        delivery.deliver(FIRST, place, NAME)
        count += 1


def end_at(count):
    left = [count]

    def heard(event, arguments):
        if event in CALLS:
            if left[0] == 0:
                os._exit(ENDED)
            left[0] -= 1

    sys.addaudithook(heard)


CALLS = ("open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.chmod", "os.utime", "ctypes.dlsym")


def killed(place, times):
    """Kills a process that delivers one after the other, at random moments."""
    absent = 0
    for _ in range(times):
        child = os.fork()
        if child == 0:
            while True:
                delivery.deliver(SECOND, place, NAME)
                delivery.deliver(FIRST, place, NAME)
        time.sleep(random.uniform(0, 0.06))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        gone, _ = held(place)
        absent += gone
    return f"{times} kills, absent {absent} times until the next run"


def beside(place, pairs):
    for _ in range(pairs):
        children = []
        for files in (FIRST, SECOND):
            children.append(os.fork())
            if children[-1] == 0:
                delivery.deliver(files, place, NAME)
                os._exit(0)
        for child in children:
            assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
        held(place)
    return f"{pairs} pairs"


def main(kind, folder, *more):
    place = laid(Path(folder))
    if "moves" in more:
        delivery.exchanged = lambda one, other: False
    counts = [int(word) for word in more if word.isdecimal()]
    print({"ended": ended, "killed": killed, "beside": beside}[kind](place, *counts))


if __name__ == "__main__":
    main(*sys.argv[1:])
