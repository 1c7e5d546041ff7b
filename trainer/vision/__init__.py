"""From frames to observations. Heavy imports (cv2, ai_edge_litert) happen inside its modules, never here.

OpenCV reads these once, when it is first imported; every module that imports it is inside this package or above it.
"""

import ctypes
import os
import sys
from contextlib import suppress

_BEFORE_CV2 = {
    # Windows: opening a camera through Media Foundation takes from seconds to minutes while it negotiates hardware
    # transforms (https://github.com/opencv/opencv/issues/17687; the switch came with pull request 20327).
    "OPENCV_VIDEOIO_MSMF_ENABLE_HW_TRANSFORMS": "0",
    # A damaged clip makes the decoder write a page a second; what the user needs to know we say in one line.
    "OPENCV_LOG_LEVEL": "SILENT",
    "OPENCV_FFMPEG_LOGLEVEL": "-8",
    # A picture file is refused by its header when it has more than this: cameras of 50 million exist, and a small file may
    # claim a thousand million, which would take gigabytes to unpack.
    "OPENCV_IO_MAX_IMAGE_PIXELS": str(64 << 20),
    # Its threads wait for each other at full speed: a tenth of the processor time of a frame, for none of the time it takes.
    "OPENCV_FOR_THREADS_NUM": "1",
    # Intel's routines in it ask at each call, some of them at each row, what processor this is: nothing on a bare machine, 10 us
    # each time on a virtual one, a tenth of what judges a frame. OpenCV's own take as long, and what comes out is the same.
    "OPENCV_IPP": "disabled",
}
for _name, _value in _BEFORE_CV2.items():
    os.environ.setdefault(_name, _value)

# Pictures come and go by the hundred a second. The system's C library (glibc) gives memory of their size back each time, and each
# is then mapped and cleared anew, 200 page faults a frame: it is kept, up to so much beyond what is in use.
_KEPT_BYTES = 64 << 20
_FROM_BYTES = 32 << 20  # the most that glibc allows; larger pieces still go back
# Otherwise each thread has a heap of its own that keeps so much: live 18 to 26 MB where 5 to 12 do (tests/bench/PROFILE.md).
# A thread that is there before goes on with its own.
_HEAPS = 1
_M_TRIM_THRESHOLD, _M_MMAP_THRESHOLD, _M_ARENA_MAX = -1, -3, -8  # malloc.h
if sys.platform == "linux":
    with suppress(AttributeError, OSError):  # another C library
        _mallopt = ctypes.CDLL(None).mallopt
        _mallopt(_M_TRIM_THRESHOLD, _KEPT_BYTES)
        _mallopt(_M_MMAP_THRESHOLD, _FROM_BYTES)
        _mallopt(_M_ARENA_MAX, _HEAPS)
