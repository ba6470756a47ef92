"""What all tests need before anything is imported."""

import os
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, settings

pytest_plugins = ["servers"]

# No test needs a screen.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Nor has the archive of whoever runs them any say.
os.environ.pop("KERFDOCKET_ARCHIVE", None)
# Programs that tests start speak English, whatever the machine speaks.
os.environ["LANGUAGE"] = "en"
# Nor has what its user set up any say; the folder is never made.
os.environ["XDG_CONFIG_HOME"] = str(Path(tempfile.gettempdir()) / "kerfdocket-no-settings")

# No property is judged by the clock, and each run tries the same: a change must not be refused for
# an example that came by chance. `--hypothesis-profile=search` looks for others.
_STEADY = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("steady", derandomize=True, **_STEADY)
settings.register_profile("search", **_STEADY)
settings.load_profile("steady")
