#!/usr/bin/env python3
"""Products grown together from parts that look unlike, for composites: joined.py OUT --scenes DIR... --grounds DIR --seed N --most N [--jobs N]

A network that has seen only things of one make takes the part it knows and leaves out what touches it. Here two to ten parts (products
cut out of scenes or pictograms, plain shapes and rods in the look of a surface) are put together so that each touches another, over
or under it, and all of them are the product (cut and paste: Dwibedi et al., arXiv 1708.01642). OUT gets chunks for train.py --more,
as chunks.py writes them. Nothing is made after a kind that is held out of training.
"""

import argparse, glob, math
from concurrent.futures import ProcessPoolExecutor
import numpy as np
from PIL import Image, ImageDraw, ImageFilter
from chunks import write
from cutouts import SPAN, sized, square
from data import SIDE, read, surface

CANVAS = 640  # px, where parts are put together


def parts_of(files):
    """RGBA pictures of the products that the frame cuts nowhere and that are at least a quarter of it."""
    for f in files:
        picture, mask, _ = read(f)
        box = Image.fromarray(mask).point(lambda v: 255 if v > 127 else 0).getbbox()
        if not box or min(box[:2]) < 2 or max(box[2:]) > SIDE - 2 or max(box[2] - box[0], box[3] - box[1]) < SIDE / 4:
            continue
        alpha = Image.fromarray(mask).filter(ImageFilter.BoxBlur(1)).point(lambda v: max(0, min(255, int((v - 90) * 2))))
        part = Image.fromarray(picture)
        part.putalpha(alpha)
        yield part.crop(box)


def tinted(r, im):
    """Another colour and gain; the alpha as it is."""
    a = np.asarray(im, np.float32).copy()
    rgb = a[..., :3]
    grey = rgb.mean(-1, keepdims=True)
    k = r.uniform(0.2, 1.3) if r.random() < 0.7 else 0.0
    gain = r.uniform(0.7, 1.3, 3) if r.random() < 0.6 else np.ones(3)
    if r.random() < 0.3:
        rgb = rgb[..., r.permutation(3)]
    a[..., :3] = np.clip((grey + (rgb - grey) * k) * gain * r.uniform(0.7, 1.25), 0, 255)
    return Image.fromarray(a.astype(np.uint8), 'RGBA')


def shape(r, grounds, rod=False):
    """A plain outline filled with the look of a surface, lit from one side; a rod is long, thin and upright."""
    n = 256
    w, h = (r.uniform(0.02, 0.09) * n, 0.96 * n) if rod else (r.uniform(0.35, 0.96) * n, r.uniform(0.35, 0.96) * n)
    t = np.linspace(0, 2 * math.pi, 72, endpoint=False)
    e = 2 / r.choice([1.3, 2, 2, 3, 8])
    x, y = np.sign(np.cos(t)) * np.abs(np.cos(t)) ** e, np.sign(np.sin(t)) * np.abs(np.sin(t)) ** e
    taper = r.uniform(-0.9, 0.9) if r.random() < 0.5 else 0.0
    x = x * (1 + taper * y) / (1 + abs(taper)) + r.uniform(-0.12, 0.12) * (1 - y**2)
    wave = 1 + (r.uniform(0.02, 0.12) * np.sin(r.integers(3, 12) * t + r.uniform(0, 6)) if r.random() < 0.3 and not rod else 0)
    m = Image.new('L', (2 * n, 2 * n))
    ImageDraw.Draw(m).polygon([(n + a * w, n + b * h) for a, b in zip(x * wave, y * wave)], fill=255)
    if r.random() < 0.12 and not rod:
        q = r.uniform(0.4, 0.75)
        ImageDraw.Draw(m).ellipse((n - w * q, n - h * q, n + w * q, n + h * q), fill=0)
    m = m.resize((n, n), Image.BOX)
    g = grounds[r.integers(len(grounds))]
    k = int(r.uniform(0.25, 1) * SIDE)
    x0, y0 = (int(r.integers(0, SIDE - k + 1)) for _ in range(2))
    fill = np.asarray(Image.fromarray(g).crop((x0, y0, x0 + k, y0 + k)).resize((n, n), Image.BICUBIC), np.float32)
    if r.random() < 0.45:
        fill = fill.mean((0, 1)) + (fill - fill.mean((0, 1))) * r.uniform(0, 0.4)
    q = (np.arange(n) + 0.5) / n * 2 - 1
    light = 1 + r.uniform(-0.5, 0.5) * q[None] * (r.random() < 0.6) + r.uniform(-0.4, 0.4) * q[:, None] * (r.random() < 0.5)
    if r.random() < 0.4:
        light = light * np.sqrt(np.clip(1 - 0.8 * (q[None] * n / 2 / max(w / 2, 4)) ** 2, 0.08, 1))
    im = Image.fromarray(np.clip(fill * light[..., None], 0, 255).astype(np.uint8))
    im.putalpha(m)
    return im.crop(m.getbbox())


def last(alpha, x, y, dx, dy):
    """The outermost place of alpha on the ray from (x, y), or None."""
    s = np.arange(0, sum(alpha.shape), 1.0)
    px, py = (x + dx * s).astype(int), (y + dy * s).astype(int)
    there = (px >= 0) & (py >= 0) & (px < alpha.shape[1]) & (py < alpha.shape[0])
    px, py = px[there], py[there]
    k = np.flatnonzero(alpha[py, px] > 127)
    return (px[k[-1]], py[k[-1]], float(s[k[-1]])) if len(k) else None


class Together:
    """What has been put together so far: a picture with alpha on the canvas."""

    def __init__(self, im):
        self.im = Image.new('RGBA', (CANVAS, CANVAS))
        self.im.paste(im, tuple((CANVAS - q) // 2 for q in im.size))

    def add(self, r, part, way, sunk):
        """Puts a part on, seen from the middle in the direction `way`, sunk in by that share of its length; whether it touches and fits."""
        so_far = np.asarray(self.im.getchannel('A'))
        ys, xs = np.nonzero(so_far > 127)
        dx, dy = math.cos(way), math.sin(way)
        there = last(so_far, xs.mean(), ys.mean(), dx, dy)
        own = np.asarray(part.getchannel('A'))
        cx, cy = part.size[0] / 2, part.size[1] / 2
        back, front = last(own, cx, cy, -dx, -dy), last(own, cx, cy, dx, dy)
        if not there or not back:
            return False
        length = back[2] + (front[2] if front else 0)
        left, top = round(there[0] - back[0] - dx * sunk * length), round(there[1] - back[1] - dy * sunk * length)
        if left < 1 or top < 1 or left + part.size[0] > CANVAS - 1 or top + part.size[1] > CANVAS - 1:
            return False
        layer = Image.new('RGBA', (CANVAS, CANVAS))
        layer.paste(part, (left, top))
        touch = np.minimum(np.asarray(layer.getchannel('A').filter(ImageFilter.MaxFilter(3))), so_far)
        if (touch > 127).sum() < 6:
            return False
        over, under = (layer, self.im) if r.random() < 0.5 else (self.im, layer)
        dark = np.asarray(over.getchannel('A').filter(ImageFilter.GaussianBlur(r.uniform(1, 6))), np.float32)[..., None] / 255
        u = np.asarray(under, np.float32).copy()
        u[..., :3] *= 1 - r.uniform(0, 0.6) * dark
        self.im = Image.alpha_composite(Image.fromarray(u.astype(np.uint8), 'RGBA'), over)
        return True


def one(seed):
    """(picture, mask) of one product grown together, SIDE x SIDE, or None."""
    r = np.random.default_rng(seed)
    some = lambda: PARTS[r.integers(len(PARTS))] if r.random() < 0.6 else shape(r, GROUNDS)

    def dressed(longer):
        im = some()
        im = im.transpose(Image.FLIP_LEFT_RIGHT) if r.random() < 0.5 else im
        if r.random() < 0.25:
            im = im.resize((max(2, int(im.size[0] * r.uniform(0.35, 1))), im.size[1]))
        return tinted(r, sized(im, longer)).rotate(float(r.choice([0, r.normal(0, 15), r.uniform(0, 360)])), Image.BICUBIC, True)

    base = r.uniform(120, 200)
    q = Together(dressed(base))
    way = float(r.choice([-math.pi / 2, math.pi / 2, 0, math.pi, r.uniform(0, 6.3)]))
    how, done = r.choice(['parts', 'parts', 'rod', 'cluster']), 0
    if how == 'cluster':
        part = sized(some(), base * r.uniform(0.25, 0.6))
        for _ in range(r.integers(3, 10)):
            again = tinted(r, part.rotate(r.uniform(0, 360), Image.BICUBIC, True)) if r.random() < 0.8 else part
            done += q.add(r, again, way + r.normal(0, 0.8), r.uniform(0.2, 0.7))
    elif how == 'rod':
        rod = sized(shape(r, GROUNDS, True), base * r.uniform(0.5, 1.5)).rotate(90 - math.degrees(way), Image.BICUBIC, True)
        done += q.add(r, rod, way, r.uniform(0.02, 0.4))
        if r.random() < 0.6:
            done += q.add(r, dressed(base * r.uniform(0.2, 0.8)), way, r.uniform(0.05, 0.5))
    else:
        for _ in range(r.integers(1, 4)):
            done += q.add(r, dressed(base * r.uniform(0.25, 1.1)), way, r.uniform(0.03, 0.45))
            way += float(r.choice([0, math.pi, r.normal(0, 1)]))
    if not done:
        return None
    box = q.im.getchannel('A').point(lambda v: 255 if v > 60 else 0).getbbox()
    im = sized(q.im.crop(box), SPAN)
    # Colours are carried past the rim, so that none of another colour is cut out with it.
    flat = Image.new('RGBA', im.size)
    for radius in (12, 5, 2):
        flat = Image.alpha_composite(flat, im.filter(ImageFilter.GaussianBlur(radius)))
    flat = Image.alpha_composite(flat, im)
    flat.putalpha(im.getchannel('A'))
    picture, mask = square(flat)
    return np.asarray(picture), np.asarray(mask)


def load(scenes, grounds):
    """Each process reads the parts and the surfaces once."""
    global PARTS, GROUNDS
    PARTS = list(parts_of(sum([sorted(glob.glob(d + '/images/*')) for d in scenes], [])))
    photos = [np.asarray(Image.open(f).convert('RGB').resize((SIDE, SIDE))) for f in sorted(glob.glob(grounds + '/*'))]
    GROUNDS = photos + [surface(200_000 + k) for k in range(100)]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('out')
    ap.add_argument('--scenes', nargs='+', required=True, help='folders with images and masks: scenes, pictograms')
    ap.add_argument('--grounds', required=True)
    ap.add_argument('--seed', type=int, default=1)
    ap.add_argument('--most', type=int, default=3200)
    ap.add_argument('--size', type=int, default=16)
    ap.add_argument('--jobs', type=int, default=4)
    A = ap.parse_args()
    rows, k = [], 0
    with ProcessPoolExecutor(A.jobs, initializer=load, initargs=(A.scenes, A.grounds)) as ex:
        for made in ex.map(one, range(A.seed * 1_000_000, A.seed * 1_000_000 + A.most), chunksize=A.size):
            rows += [made] if made else []
            if len(rows) == A.size:
                pics, prod = (np.stack(q) for q in zip(*rows))
                yes = np.ones(len(rows), bool)
                write(A.out, f'j{A.seed:02d}_{k:05d}', dict(pics=pics, prod=prod, rooms=0 * prod, alone=yes, joined=yes))
                rows, k = [], k + 1
    print(k * A.size, 'products grown together')


if __name__ == '__main__':
    main()
