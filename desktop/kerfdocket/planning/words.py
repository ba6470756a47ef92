"""What a torch is called where it is to be fitted or fetched."""

from kerfdocket.language import _, marked

__all__ = ["mixing_text", "torch_text"]

_TORCHES = {
    "hand": marked("Hand torch"),
    "tractor": marked("Torch on a tractor"),
    "machine": marked("Machine torch"),
}
_MIXING = {
    "nozzle": marked("gases mix in the nozzle"),
    "torch": marked("gases mix in the torch"),
    "injector": marked("injector torch"),
}


def torch_text(kind: str) -> str:
    """Return what a kind of torch is called, as the job states the kind.

    Raises:
        KeyError: a job states no such kind.
    """
    return _(_TORCHES[kind])


def mixing_text(mixing: str) -> str:
    """Return where a torch mixes its gases, as the job states it.

    Raises:
        KeyError: a job states no such way.
    """
    return _(_MIXING[mixing])
