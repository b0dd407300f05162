"""The same mozjpeg settings and number of encodes, driven from libvips: progressive, trellis,
deringing, the same base table. Needs a libvips that was built with mozjpeg (pyvips-binary is).

usage: libvips.py PHOTO X Y W H OUT_W OUT_H QUALITY ENCODES CHROMA LIGHT OUT.jpg
LIGHT 1 averages light as we do, 0 the encoded values.
Prints: user seconds, peak KiB, bytes, quality, encodes.
"""
import resource
import sys

import pyvips

photo, out, chroma, light = sys.argv[1], sys.argv[-1], sys.argv[10], sys.argv[11] == "1"
x, y, w, h, ow, oh, quality, encodes = map(int, sys.argv[2:10])
pyvips.concurrency_set(1) if hasattr(pyvips, "concurrency_set") else None
picture = pyvips.Image.new_from_file(photo, access="sequential").crop(x, y, w, h)
if light:
    picture = picture.colourspace("scrgb")
picture = picture.resize(ow / w, vscale=oh / h, kernel="lanczos3")
if light:
    picture = picture.colourspace("srgb").cast("uchar")
picture = picture.copy_memory()
for _ in range(encodes):
    file = picture.jpegsave_buffer(
        Q=quality,
        interlace=True,
        optimize_coding=True,
        trellis_quant=True,
        overshoot_deringing=True,
        quant_table=5,
        subsample_mode="off" if chroma == "4:4:4" else "on",
    )
with open(out, "wb") as f:
    f.write(file)
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_utime, used.ru_maxrss, len(file), quality, encodes)
