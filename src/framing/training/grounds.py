#!/usr/bin/env python3
"""Collects photographed surfaces for composites: grounds.py SKIMAGE_DATA MYPAINT_BACKGROUNDS NORMALS HDRI_DIR OUT

SKIMAGE_DATA: folder `skimage/data` of PyPI scikit-image (brick, grass, gravel: CC0). MYPAINT_BACKGROUNDS: folder
`usr/share/mypaint/backgrounds` of Debian's mypaint-data-extras (mrmamurk/*, ramon/*: scanned papers, canvases, cork; CC0). NORMALS:
folder `normals` of npm @pmndrs/assets (CC0): scanned relief, lit here by a random lamp and given a random colour. HDRI_DIR: panoramas
(.exr), from which the floors are cut (needs bpy). Writes 384 x 384 pictures.
"""

import base64, glob, io, os, re, sys
import numpy as np
from PIL import Image

N = 384


def save(a, out, name):
    Image.fromarray((np.clip(a, 0, 1) * 255).astype(np.uint8)).save(f'{out}/{name}.jpg', quality=80)


def lit(normals, rng):
    """A surface of that relief and one colour under a lamp from one side: Lambert's law."""
    n = np.asarray(normals, np.float32) / 127.5 - 1
    n[..., :2] *= rng.uniform(0.5, 1.6)
    n /= np.linalg.norm(n, axis=-1, keepdims=True) + 1e-6
    az, el = rng.uniform(0, 6.28), rng.uniform(0.35, 1.2)
    l = np.array([np.cos(az) * np.cos(el), np.sin(az) * np.cos(el), np.sin(el)])
    d = np.clip(n @ l, 0, None)
    d = d / (d.mean() + 1e-6)
    c = rng.uniform(0.05, 0.95, 3) * 0.6 + rng.uniform(0.05, 0.4) if rng.random() < 0.4 else np.full(3, rng.uniform(0.06, 0.92)) + rng.normal(0, 0.06, 3)
    h, w = d.shape
    stain = np.asarray(Image.fromarray(rng.normal(0, 1, (6, 6)).astype(np.float32)).resize((w, h), Image.BICUBIC)) * rng.uniform(0, 0.08)
    return np.clip(c * (0.35 + 0.65 * d[..., None]) * (1 + stain[..., None]), 0, 1)


def main():
    sk, mp, nm, hd, out = sys.argv[1:6]
    os.makedirs(out, exist_ok=True)
    rng = np.random.default_rng(5)
    for k in ('brick', 'grass', 'gravel'):
        im = Image.open(f'{sk}/{k}.png').convert('RGB')
        for i in range(6):
            s = int(min(im.size) * (rng.uniform(0.5, 1)))
            x, y = rng.integers(0, im.size[0] - s + 1), rng.integers(0, im.size[1] - s + 1)
            save(np.asarray(im.crop((x, y, min(x + s, im.size[0]), min(y + s, im.size[1]))).resize((N, N), Image.BICUBIC)) / 255, out, f'{k}_{i}')
    for f in sorted(glob.glob(f'{mp}/mrmamurk/*.png') + glob.glob(f'{mp}/ramon/*.png')):
        im = Image.open(f).convert('RGB')
        for i in range(3):
            s = int(min(im.size) * rng.uniform(0.35, 1))
            x, y = rng.integers(0, im.size[0] - s + 1), rng.integers(0, im.size[1] - s + 1)
            save(np.asarray(im.crop((x, y, x + s, y + s)).resize((N, N), Image.BICUBIC)) / 255, out, os.path.basename(f)[:-4].replace(' ', '_') + f'_{i}')
    for f in sorted(glob.glob(nm + '/*.webp.js')):
        m = re.search(r'base64,([A-Za-z0-9+/=]+)', open(f).read())
        im = Image.open(io.BytesIO(base64.b64decode(m.group(1)))).convert('RGB')
        for i in range(4):
            s = int(min(im.size) * rng.uniform(0.4, 1))
            x, y = rng.integers(0, im.size[0] - s + 1), rng.integers(0, im.size[1] - s + 1)
            save(lit(im.crop((x, y, x + s, y + s)).resize((N, N), Image.BICUBIC), rng), out, os.path.basename(f)[:4] + f'_lit{i}')
    if os.path.isdir(hd):
        import bpy

        for f in sorted(glob.glob(hd + '/*.exr')):
            im = bpy.data.images.load(f)
            w, h = im.size
            a = np.empty(w * h * 4, np.float32)
            im.pixels.foreach_get(a)
            a = a.reshape(h, w, 4)[::-1, :, :3]
            # straight down, 80 degrees wide
            u, v = np.meshgrid((np.arange(N) + 0.5) / N * 2 - 1, (np.arange(N) + 0.5) / N * 2 - 1)
            az, down = np.arctan2(u, v), np.arctan(np.hypot(u, v) * np.tan(np.radians(40)))
            y, x = (1 - down / np.pi) * (h - 1), ((az / (2 * np.pi)) % 1) * (w - 1)
            y0, x0 = np.clip(y.astype(int), 0, h - 2), np.clip(x.astype(int), 0, w - 2)
            fy, fx = (y - y0)[..., None], (x - x0)[..., None]
            p = (a[y0, x0] * (1 - fx) + a[y0, x0 + 1] * fx) * (1 - fy) + (a[y0 + 1, x0] * (1 - fx) + a[y0 + 1, x0 + 1] * fx) * fy
            p = p * 0.25 / np.exp(np.log(np.clip(p.mean(-1), 1e-3, 50)).mean())
            p = np.clip(p / (1 + p * 0.6), 0, 1)
            save(np.where(p <= 0.0031308, p * 12.92, 1.055 * np.maximum(p, 1e-6) ** (1 / 2.4) - 0.055), out, os.path.basename(f)[:-4] + '_floor')


if __name__ == '__main__':
    main()
