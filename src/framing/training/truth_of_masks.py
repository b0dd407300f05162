#!/usr/bin/env python3
"""Makes the truth.json of a rendered set from its masks alone, so that the bench can score it.

  truth_of_masks.py SETDIR OUTDIR [--from N] [--to N]

SETDIR holds images/NAME.jpg, masks/NAME.png (the product) and, where an end of the surface is in view,
masks/NAME_ok.png (white: surface). OUTDIR gets truth.json and links to both folders. The rules are those of
the measuring sets' own truth: `subject` the mask's box; `usable` the largest rectangle free of room that holds
it; `feasible` a crop with 4 % margin. Needs numpy and Pillow.
"""
import argparse
import glob
import json
import os

import numpy as np
from PIL import Image

SHAPES = {'4:3': (4, 3), '1:1': (1, 1), '4:5': (4, 5)}


def largest_rectangle(free, need=None):
    """Largest all-true rectangle [x0, y0, x1, y1], holding `need` when given."""
    h, w = free.shape
    best, area = None, 0
    heights = np.zeros(w, int)
    for y in range(h):
        heights = np.where(free[y], heights + 1, 0)
        stack = []
        for x in range(w + 1):
            here, start = (heights[x] if x < w else 0), x
            while stack and stack[-1][1] >= here:
                start, q = stack.pop()
                r = (start, y - q + 1, x, y + 1)
                holds = need is None or (r[0] <= need[0] and r[1] <= need[1] and r[2] >= need[2] and r[3] >= need[3])
                if (x - start) * q > area and holds:
                    best, area = r, (x - start) * q
            stack.append((start, here))
    return best


def best_crop(bad, W, H, box, shape, margin=.04, centred=None):
    """Largest crop with margin and no bad cell; `centred` bounds the distance of the centres."""
    h, w = bad.shape
    S = np.zeros((h + 1, w + 1))
    S[1:, 1:] = bad.cumsum(0).cumsum(1)
    x, y, bw, bh = box
    k = shape[0] / shape[1]
    most, least = min(W, H * k), max(bw / (1 - 2 * margin), bh / (1 - 2 * margin) * k)
    if least > most + 1e-6:
        return None
    for cw in np.linspace(most, least, 60):
        ch = cw / k
        mx, my = margin * cw, margin * ch
        x0, x1, y0, y1 = max(0, x + bw + mx - cw), min(W - cw, x - mx), max(0, y + bh + my - ch), min(H - ch, y - my)
        if centred is not None:
            cx, cy = x + bw / 2 - cw / 2, y + bh / 2 - ch / 2
            x0, x1 = max(x0, cx - centred * cw), min(x1, cx + centred * cw)
            y0, y1 = max(y0, cy - centred * ch), min(y1, cy + centred * ch)
        if x0 > x1 + 1e-6 or y0 > y1 + 1e-6:
            continue
        X, Y = np.meshgrid(np.linspace(x0, x1, 25), np.linspace(y0, y1, 25))
        sx, sy = w / W, h / H
        a, b = np.floor(X * sx + .35).astype(int).clip(0, w), np.floor(Y * sy + .35).astype(int).clip(0, h)
        c, d = np.ceil((X + cw) * sx - .35).astype(int).clip(0, w), np.ceil((Y + ch) * sy - .35).astype(int).clip(0, h)
        good = S[d, c] - S[b, c] - S[d, a] + S[b, a] <= 0
        if good.any():
            off = np.where(good, np.hypot(X + cw / 2 - x - bw / 2, Y + ch / 2 - y - bh / 2), 1e9)
            i = off.argmin()
            return [round(float(v), 1) for v in (X.flat[i], Y.flat[i], cw, ch)]
    return None


def truth(image, mask, ok):
    W, H = Image.open(image).size
    m = np.asarray(Image.open(mask).convert('L')) > 127
    if m.sum() < 60:
        return None
    h, w = m.shape
    ys, xs = np.where(m)
    s, t = W / w, H / h
    box = [round(xs.min() * s), round(ys.min() * t), round((xs.max() + 1 - xs.min()) * s), round((ys.max() + 1 - ys.min()) * t)]
    sw, sh = (320, round(320 * H / W)) if W > H else (round(320 * W / H), 320)
    bad = np.zeros((sh, sw), bool)
    usable = contains = None
    if ok:
        bad = np.asarray(Image.open(ok).convert('L').resize((sw, sh), Image.NEAREST)) < 128
        need = (box[0] * sw / W + .5, box[1] * sh / H + .5, (box[0] + box[2]) * sw / W - .5, (box[1] + box[3]) * sh / H - .5)
        q = largest_rectangle(~bad, need)
        contains = q is not None
        q = q or largest_rectangle(~bad)
        if q:
            usable = [round(q[0] * W / sw), round(q[1] * H / sh), round((q[2] - q[0]) * W / sw), round((q[3] - q[1]) * H / sh)]
    feasible = {}
    for name, shape in SHAPES.items():
        c = best_crop(bad, W, H, box, shape)
        feasible[name] = dict(feasible=bool(c), feasible_by_mask=bool(c), largest=c,
                              largest_centred=best_crop(bad, W, H, box, shape, centred=.05) if c else None)
    return dict(width=W, height=H, subject=box, usable=usable, usable_contains_subject=contains, feasible=feasible, props=[], tags=[])


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('set')
    ap.add_argument('out')
    ap.add_argument('--from', type=int, default=0, dest='first')
    ap.add_argument('--to', type=int, default=10**9, dest='last')
    args = ap.parse_args()
    os.makedirs(args.out, exist_ok=True)
    for folder in ('images', 'masks'):
        link = os.path.join(args.out, folder)
        if not os.path.exists(link):
            os.symlink(os.path.abspath(os.path.join(args.set, folder)), link)
    out = []
    for f in sorted(glob.glob(args.set + '/images/*.jpg'))[args.first:args.last]:
        name = os.path.basename(f)[:-4]
        mask, ok = f'masks/{name}.png', f'masks/{name}_ok.png'
        ok = ok if os.path.exists(os.path.join(args.set, ok)) else None
        if os.path.exists(os.path.join(args.set, mask)):
            t = truth(f, os.path.join(args.set, mask), ok and os.path.join(args.set, ok))
            if t:
                out.append(dict(image=f'images/{name}.jpg', mask=mask, ok_mask=ok, **t))
    with open(os.path.join(args.out, 'truth.json'), 'w') as f:
        json.dump(dict(images=out), f, indent=1)
    print(len(out), 'scenes')


if __name__ == '__main__':
    main()
