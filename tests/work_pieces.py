"""Pieces of work for the bench to run in processes of their own."""

import os
import time

from chape.errors import InputError


def add(tell, a, b):
    tell("Add", 0.5)
    return a + b


def refuse(_):
    raise InputError("found nothing", mend="Bring something")


def fall(_):
    raise ZeroDivisionError


def vanish(_):
    os._exit(1)


def write_slowly(tell, path):
    """Clear up when stopped, as everything that writes does."""
    path.write_text("half")
    try:
        tell("Write", None)
        time.sleep(60)
    except BaseException:
        path.unlink()
        raise
