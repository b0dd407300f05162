"""The script a person would write: Pillow, bisecting the quality for a budget.

usage: pillow.py PHOTO X Y W H OUT_W OUT_H MAX_BYTES FLOOR CEILING OUT.jpg
Prints: user seconds, peak KiB, bytes, quality, encodes.
"""
import io
import resource
import sys

from PIL import Image

photo, out = sys.argv[1], sys.argv[-1]
x, y, w, h, ow, oh, limit, floor, ceiling = map(int, sys.argv[2:11])
picture = Image.open(photo).convert("RGB")
picture = picture.resize((ow, oh), Image.LANCZOS, box=(x, y, x + w, y + h))
best, quality, encodes = None, floor, 0
low, high = floor, ceiling
while low <= high:
    middle = (low + high) // 2
    file = io.BytesIO()
    picture.save(file, "JPEG", quality=middle, optimize=True, progressive=True)
    encodes += 1
    if file.tell() <= limit:
        best, quality, low = file.getvalue(), middle, middle + 1
    else:
        high = middle - 1
if best is not None:
    with open(out, "wb") as f:
        f.write(best)
used = resource.getrusage(resource.RUSAGE_SELF)
print(used.ru_utime, used.ru_maxrss, len(best or b""), quality, encodes)
