"""What runs in another process before its first call; imports nothing heavy."""

import multiprocessing
import os
import threading

__all__ = ["end_with_parent"]


def end_with_parent() -> None:
    """End this process when the one that started it is gone, however that came about.

    A worker that waits for its next call holds both ends of the queue, so that it would never
    learn of the other's death and stay behind.
    """
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def wait() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=wait, name="end with parent", daemon=True).start()
