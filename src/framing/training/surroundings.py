#!/usr/bin/env python3
"""Cuts photographed surroundings (.exr panoramas) into flat pictures for rooms in composites: surroundings.py HDRI_DIR OUT_DIR (needs bpy)."""

import glob
import os
import sys

import bpy
import numpy as np
from PIL import Image


def main():
    source, out = sys.argv[1:3]
    os.makedirs(out, exist_ok=True)
    for f in sorted(glob.glob(source + '/*.exr')):
        im = bpy.data.images.load(f)
        w, h = im.size
        a = np.empty(w * h * 4, np.float32)
        im.pixels.foreach_get(a)
        a = a.reshape(h, w, 4)[::-1, :, :3]
        a = a * 0.25 / np.exp(np.log(np.clip(a.mean(-1), 1e-3, 50)).mean())
        a = np.clip(a / (1 + a * 0.6), 0, 1)
        a = np.where(a <= 0.0031308, a * 12.92, 1.055 * np.maximum(a, 1e-6) ** (1 / 2.4) - 0.055)
        flat = Image.fromarray((np.clip(a, 0, 1) * 255).astype(np.uint8)).resize((1024, 512), Image.BICUBIC)
        for k, x in enumerate((0, 256, 512, 624)):
            flat.crop((x, 60, x + 400, 460)).save(f'{out}/{os.path.basename(f)[:-4]}_{k}.jpg', quality=85)


if __name__ == '__main__':
    main()
