"""The true child with readers that misbehave by the name of the file, or by its last bytes."""

import sys

from evidence.photos import Worker

MOODY = """
import os, sys, time
from evidence.photos import child
from evidence.photos.camera import CameraReading, read_camera
from evidence.photos.codes import read_codes

poisoned = []

def mood(path):
    return path.name + path.read_bytes()[-8:].decode("latin-1")

def codes(path, start, longest):
    if "crash" in mood(path):
        os.abort()
    return read_codes(path, start, longest)

def reading(path):
    name = mood(path)
    if "crash" in name or poisoned:
        os.abort()
    if "poison" in name:
        poisoned.append(path)
    if "raise" in name:
        raise RuntimeError
    if "hang" in name:
        time.sleep(60)
    if "greedy" in name:
        bytearray(2 * 2**30)
    if "chatty" in name:
        print("noise")
        os.write(1, b"noise")
    if "secret" in name:
        return CameraReading(unreadable=",".join(sorted(os.environ)))
    return read_camera(path)

child.read_camera = reading
child.read_codes = codes
child.main()
"""
COMMAND = (sys.executable, "-c", MOODY)


def moody_worker(seconds: float = 20) -> Worker:
    return Worker(seconds=seconds, command=COMMAND)
