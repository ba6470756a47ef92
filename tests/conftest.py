"""What all tests need before anything is imported."""

import os
import tempfile
from pathlib import Path

pytest_plugins = ["servers"]

# No test needs a screen.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Programs that tests start speak English, whatever the machine speaks.
os.environ["LANGUAGE"] = "en"
# Nor has what its user set up any say; the folder is never made.
os.environ["XDG_CONFIG_HOME"] = str(Path(tempfile.gettempdir()) / "kerfdocket-no-settings")
