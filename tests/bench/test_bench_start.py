"""Start to first painted window: the program against a bare PySide6 window, a process each."""

import os
import subprocess
import sys

from jobs import SAMPLES

_BARE = """
import sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMainWindow

class Window(QMainWindow):
    def paintEvent(self, event):
        super().paintEvent(event)
        QTimer.singleShot(0, end)

def end():
    print("painted", flush=True)
    import os
    os._exit(0)

application = QApplication(sys.argv)
window = Window()
window.resize(1366, 768)
window.show()
application.exec()
"""
_OURS = """
import os, sys
from pathlib import Path
from PySide6.QtWidgets import QApplication
from kerfdocket.window import default_services
from kerfdocket.window.main_window import MainWindow

def end():
    print("painted", flush=True)
    os._exit(0)

application = QApplication(sys.argv)
window = MainWindow(default_services(), Path(sys.argv[1]))
window.first_painted.connect(end)
window.resize(1366, 768)
window.show()
application.exec()
"""


def start(code: str, folder: str) -> None:
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "XDG_STATE_HOME": folder}
    result = subprocess.run(
        [sys.executable, "-c", code, str(SAMPLES / "base-plates-12mm.toml")],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert result.stdout == "painted\n"


def test_first_painted_window_against_a_bare_one(benchmark, ratio, tmp_path):
    ratio(
        benchmark,
        "start to first painted window against a bare PySide6 window",
        ours=lambda: start(_OURS, str(tmp_path)),
        bare=lambda: start(_BARE, str(tmp_path)),
        rounds=9,
        aim="aim under 1.50",
    )
