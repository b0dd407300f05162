#!/usr/bin/env python3
"""Hands new data to a training that runs: chunks.py OUT --scenes DIR... [--alone DIR...] and, beside it,
chunks.py OUT --surfaces FROM --most N or chunks.py OUT --pictograms DIR

Scenes: packs each scene of the folders once its record is written (scenes.py writes that last), or at once where the folder keeps no
records, until the file OUT/enough appears; those of --alone are products by themselves, for cutting out. Surfaces: N pattern pictures, seeds FROM on.
Pictograms: all of what cutouts.py wrote, once.
"""

import argparse, glob, os, time
import numpy as np
from data import read, surface


def write(out, name, arrays):
    """Under its name only when whole."""
    part = f'{out}/.{name}.part.npz'
    np.savez(part, **arrays)
    os.replace(part, f'{out}/{name}.npz')


def pack(out, folders, alone, size):
    done, k = set(), 0
    while True:
        last = os.path.exists(out + '/enough')
        files = []
        for d in folders + alone:
            for f in sorted(glob.glob(d + '/images/*')):
                record = f.replace('/images/', '/rec/').rsplit('.', 1)[0] + '.json'
                if f not in done and (os.path.exists(record) or not os.path.isdir(d + '/rec')):
                    files.append(f)
        while len(files) >= size or (last and files):
            now, files = files[:size], files[size:]
            pics, prod, rooms = (np.stack(q) for q in zip(*map(read, now)))
            write(out, f's{k:05d}', dict(pics=pics, prod=prod, rooms=rooms, alone=np.array([os.path.dirname(os.path.dirname(f)) in alone for f in now])))
            done.update(now)
            k += 1
        if last:
            break
        time.sleep(3)
    print(len(done), 'scenes handed over')


def drawn(out, folder, size):
    files = sorted(glob.glob(folder + '/images/*'))
    for k in range(0, len(files), size):
        pics, prod, rooms = (np.stack(q) for q in zip(*map(read, files[k : k + size])))
        write(out, f'a{k:05d}', dict(pics=pics, prod=prod, rooms=rooms, alone=np.ones(len(pics), bool), drawn=np.ones(len(pics), bool)))


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('out')
    ap.add_argument('--scenes', nargs='*', default=[])
    ap.add_argument('--alone', nargs='*', default=[])
    ap.add_argument('--surfaces', type=int)
    ap.add_argument('--pictograms')
    ap.add_argument('--most', type=int, default=3000, help='surfaces')
    ap.add_argument('--size', type=int, default=16, help='rows in a chunk')
    A = ap.parse_args()
    if A.pictograms:
        return drawn(A.out, A.pictograms, A.size)
    if A.scenes or A.alone:
        return pack(A.out, A.scenes, A.alone, A.size)
    for seed in range(A.surfaces, A.surfaces + A.most, A.size):
        write(A.out, f'b{seed:07d}', dict(bank=np.stack([surface(seed + k) for k in range(A.size)])))


if __name__ == '__main__':
    main()
