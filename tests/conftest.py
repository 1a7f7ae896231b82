"""What all tests share: one thread for small matrices, set before numpy is imported."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
