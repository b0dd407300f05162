"""Scenes, surfaces and surroundings as tensors on the accelerator.

Owns reading from disk; knows nothing of augmentation or the network. Pictures are squashed to SIDE x SIDE, 8 bit.
"""

import glob, os
from concurrent.futures import ProcessPoolExecutor
import numpy as np
import torch
from PIL import Image
import patterns, patterns_further

SIDE = 384


def read(f):
    """(SIDE x SIDE x 3 picture, product mask, room mask), 8 bit, of one scene."""
    m = f.replace('/images/', '/masks/').rsplit('.', 1)[0]
    im = Image.open(f).convert('RGB').resize((SIDE, SIDE), Image.BICUBIC)
    p = Image.open(m + '.png').convert('L').resize((SIDE, SIDE), Image.BILINEAR)
    ok = (
        Image.open(m + '_ok.png').convert('L').resize((SIDE, SIDE), Image.BILINEAR)
        if os.path.exists(m + '_ok.png')
        else Image.new('L', (SIDE, SIDE), 255)
    )
    return np.asarray(im), np.asarray(p), 255 - np.asarray(ok)


FURTHER_FROM = 100_000  # seeds from here on know the further surfaces too
ALL_FROM = 200_000  # and from here on those that were held out at first


def surface(seed):
    """One surface picture; kinds held out of training do not appear below ALL_FROM."""
    rng = np.random.default_rng(seed)
    kinds = [k for k in patterns.KINDS if k not in patterns.HELD_OUT or seed >= ALL_FROM]
    if seed >= FURTHER_FROM:
        kinds += [k for k in patterns_further.KINDS if k not in patterns_further.HELD_OUT]
    return (patterns.pattern(kinds[seed % len(kinds)], rng, SIDE) * 255).astype(np.uint8)


def square(f):
    return np.asarray(Image.open(f).convert('RGB').resize((SIDE, SIDE), Image.BICUBIC))


def boxes(prod):
    """Box of each product mask (x0, y0, x1, y1, 0 to 1) and whether the frame cuts none of it."""
    box, keep = [], []
    for p in prod:
        ys, xs = np.where(p > 127)
        if len(ys) < 20:
            box.append([0.4, 0.4, 0.6, 0.6])
            keep.append(False)
            continue
        b = [xs.min(), ys.min(), xs.max() + 1, ys.max() + 1]
        box.append([q / SIDE for q in b])
        keep.append(b[0] > 1 and b[1] > 1 and b[2] < SIDE - 1 and b[3] < SIDE - 1)
    return np.array(box, np.float32), np.array(keep)


class Store:
    """Rows on the device with room for more, so that data that come while a training runs are added in place."""

    def __init__(self, rows, dev, more):
        self.rows = torch.empty((len(rows) + more, *rows.shape[1:]), dtype=torch.from_numpy(rows[:0]).dtype, device=dev)
        self.n = 0
        self.add(rows)

    def add(self, rows):
        rows = rows[: len(self.rows) - self.n]
        self.rows[self.n : self.n + len(rows)] = torch.from_numpy(rows).to(self.rows.device)
        self.n += len(rows)

    def __getitem__(self, i):
        return self.rows[i]


# What a row of `add` may be, beside a scene.
FLAGS = ('alone', 'drawn', 'joined')


class Scenes:
    def __init__(self, folders, dev, surfaces=1200, photos='', grounds='', jobs=8, cache='', more=(0, 0)):
        """folders: scene sets (images/, masks/); surfaces: size of the pattern bank; cache: file that keeps all this read (made when missing); photos: folder of surroundings; grounds: folder of photographed surfaces; more: how many scenes and surfaces may be added."""
        files = sum([sorted(glob.glob(f'{d}/images/*')) for d in folders], [])
        ph = sorted(glob.glob(photos + '/*')) if photos else []
        gr = sorted(glob.glob(grounds + '/*')) if grounds else []
        if cache and os.path.exists(cache):
            z = np.load(cache)
            pics, prod, rooms, bank, ph, gr = (z[k] for k in ('pics', 'prod', 'rooms', 'bank', 'ph', 'gr'))
        else:
            with ProcessPoolExecutor(jobs) as ex:
                rows = list(ex.map(read, files, chunksize=16))
                bank = np.stack(list(ex.map(surface, range(surfaces), chunksize=8)))
                none = np.zeros((0, SIDE, SIDE, 3), np.uint8)
                ph = np.stack(list(ex.map(square, ph))) if ph else none
                gr = np.stack(list(ex.map(square, gr)) * max(1, round((surfaces + more[1]) / 4 / len(gr)))) if gr else none
            pics, prod, rooms = (np.stack(q) for q in zip(*rows))
            if cache:
                np.savez(cache, pics=pics, prod=prod, rooms=rooms, bank=bank, ph=ph, gr=gr)
        box, whole = boxes(prod)
        self.dev = dev
        no = np.zeros(len(pics), bool)
        self.columns = [Store(a, dev, more[0]) for a in (pics, prod, rooms, box, whole, *[no] * len(FLAGS))]
        self.pics, self.prod, self.rooms, self.box, self.whole, self.alone, self.drawn, self.joined = self.columns
        self.bank, self.ph = Store(np.concatenate([bank, gr]) if photos else bank, dev, more[1]), Store(ph, dev, 0)
        self.n_photo = self.ph.n if photos else 0
        self.count()

    def count(self):
        self.n, self.n_surface = self.pics.n, self.bank.n
        self.whole_ids = torch.where(self.whole[: self.n] & ~self.drawn[: self.n] & ~self.joined[: self.n])[0]
        self.drawn_ids = torch.where(self.drawn[: self.n])[0]
        self.joined_ids = torch.where(self.joined[: self.n])[0]
        self.scene_ids = torch.where(~self.alone[: self.n])[0]

    def add(self, z):
        """Further scenes (`pics`, `prod`, `rooms`; `alone`: for cutting out only; `drawn`: pictograms of cutouts.py; `joined`: things of joined.py) or surfaces (`bank`) of a dictionary of arrays."""
        if 'pics' in z:
            box, whole = boxes(z['prod'])
            no = np.zeros(len(whole), bool)
            rows = z['pics'], z['prod'], z['rooms'], box, whole, *(z.get(k, no) for k in FLAGS)
            for store, rows in zip(self.columns, rows):
                store.add(rows)
        if 'bank' in z:
            self.bank.add(z['bank'])
        self.count()

    def draw(self, R, n):
        """n scenes; products by themselves are none."""
        return self.scene_ids[R.i(n, len(self.scene_ids))]

    def picture(self, i):
        return self.pics[i].permute(0, 3, 1, 2).float() / 255

    def product(self, i):
        return self.prod[i][:, None].float() / 255

    def room(self, i):
        return self.rooms[i][:, None].float() / 255

    def surface(self, i):
        return self.bank[i].permute(0, 3, 1, 2).float() / 255

    def photo(self, i):
        return self.ph[i].permute(0, 3, 1, 2).float() / 255
