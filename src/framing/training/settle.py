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


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('weights')
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
    ap.add_argument('--out', required=True)
    A = ap.parse_args()
    dev = 'cuda' if torch.cuda.is_available() else 'cpu'
    torch.manual_seed(1)
    D = Scenes(A.scenes, dev, A.surfaces, A.photos, A.grounds, 2, more=(1000, 0))
    for f in sorted(glob.glob(A.more + '/*.npz')) if A.more else []:
        D.add(dict(np.load(f)))
    R = Random(1, dev)
    net = load(A.weights, dev).train()
    norms = [m for m in net.modules() if isinstance(m, torch.nn.BatchNorm2d)]
    for m in norms:
        m.reset_running_stats()
        m.momentum = None  # a plain mean over all batches
    with torch.no_grad():
        for _ in range(A.batches):
            net(batch(R, D, A.batch, LEVELS.index(A.recipe), A.drawn, A.joined)[0])
    for m in norms:
        m.num_batches_tracked.zero_()
    save(net.state_dict(), A.out)


if __name__ == '__main__':
    main()
