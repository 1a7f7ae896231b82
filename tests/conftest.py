"""What all tests share: one thread for small matrices, before numpy is imported; how examples are drawn."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from hypothesis import HealthCheck, settings

# Time limits would measure the machine's load. In CI the examples are the same on every run of a revision.
settings.register_profile(
    "coilgen",
    deadline=None,
    derandomize="CI" in os.environ,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("coilgen")
