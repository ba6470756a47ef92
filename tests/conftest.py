"""What all tests need before anything is imported."""

import os

# No test needs a screen.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Programs that tests start speak English, whatever the machine speaks.
os.environ["LANGUAGE"] = "en"
