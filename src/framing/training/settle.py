#!/usr/bin/env python3
"""Measures the batch norms of averaged weights anew: settle.py W.pt --scenes DIR... --out W.pt [--batches 24] [--recipe wider --more DIR]

Networks whose weights are averaged need not agree in the means and spreads that their batch norms keep; those of the average are taken
from training pictures seen by it (Izmailov et al., arXiv 1803.05407). Nothing else changes.
"""

import argparse, glob
import numpy as np
import torch
from augment import DRAWN, batch
from data import Scenes
from draws import Random
from train import LEVELS, load, save


def wants_pictures(ap):
    """The options that tell which training pictures to look at."""
    ap.add_argument('--scenes', nargs='+', required=True)
    ap.add_argument('--photos', default='')
    ap.add_argument('--grounds', default='')
    ap.add_argument('--batches', type=int, default=24)
    ap.add_argument('--batch', type=int, default=24)
    ap.add_argument('--surfaces', type=int, default=120)
    ap.add_argument('--recipe', default='broad', choices=LEVELS)
    ap.add_argument('--drawn', type=float, default=DRAWN, help='as of the training')
    ap.add_argument('--joined', type=float, default=0.0, help='as of the training')
    ap.add_argument('--more', default='', help='folder of chunks, all read')


def pictures(A, dev):
    """Batches of training pictures as the recipe makes them, N x 3 x 320 x 320."""
    torch.manual_seed(1)
    D = Scenes(A.scenes, dev, A.surfaces, A.photos, A.grounds, 2, more=(1000, 0))
    for f in sorted(glob.glob(A.more + '/*.npz')) if A.more else []:
        D.add(dict(np.load(f)))
    R = Random(1, dev)
    for _ in range(A.batches):
        yield batch(R, D, A.batch, LEVELS.index(A.recipe), A.drawn, A.joined)[0]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('weights')
    wants_pictures(ap)
    ap.add_argument('--out', required=True)
    A = ap.parse_args()
    dev = 'cuda' if torch.cuda.is_available() else 'cpu'
    net = load(A.weights, dev).train()
    norms = [m for m in net.modules() if isinstance(m, torch.nn.BatchNorm2d)]
    for m in norms:
        m.reset_running_stats()
        m.momentum = None  # a plain mean over all batches
    with torch.no_grad():
        for x in pictures(A, dev):
            net(x)
    for m in norms:
        m.num_batches_tracked.zero_()
    save(net.state_dict(), A.out)


if __name__ == '__main__':
    main()
