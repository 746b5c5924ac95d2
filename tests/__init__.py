"""The tests; they multiply matrices in one thread, as the program does: each worker has one core at best."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
