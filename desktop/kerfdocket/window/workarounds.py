"""What must be put right in the libraries that the window stands on."""

import sys

__all__ = ["keep_singletons_alive"]

_SPARE = 1 << 30


def keep_singletons_alive() -> None:
    """Keep PySide6 6.12 from ending the program under Python 3.11.

    WORKAROUND: the wheels of PySide6 6.12.0 return None and True without taking a reference, which
    is right only where they are immortal, from Python 3.12 on. Under 3.11 every `emit` and every
    `layout.takeAt` of an empty layout takes one away, and some thousand later Python aborts with
    "none_dealloc" or "bool_dealloc". 6.11.3 does not. To be seen with sys.getrefcount(True) before
    and after an `emit`. A large stock of references lasts longer than any session.
    """
    is_concerned = sys.implementation.name == "cpython" and sys.version_info < (3, 12)
    if not is_concerned or hasattr(sys, "gettotalrefcount"):  # a debug build lays objects out else
        return
    import ctypes

    for singleton in (None, True, False):
        if sys.getrefcount(singleton) < _SPARE:
            # The count is the first thing in every object (CPython 3.11, Include/object.h).
            ctypes.c_ssize_t.from_address(id(singleton)).value += _SPARE
