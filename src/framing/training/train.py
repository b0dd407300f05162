#!/usr/bin/env python3
"""Trains the eye: one network from scenes, or one network that learns what several agree on.

  train.py --scenes DIR... --out W.pt [--recipe base|wide] [--seed N] [--steps N] [--batch 64] [--teachers W.pt...] [--start W.pt]

base: the earlier recipe (its augmentation, brought to the accelerator). wide: the same losses and schedule with further composites,
surfaces, photographed surroundings and camera faults (augment.py). Weights are saved in half precision, averaged over the last steps
(exponential moving average, Polyak and Juditsky 1992). --teachers: distillation (Hinton et al., arXiv 1503.02531): the target is half the
truth, half the teachers' mean map.
"""

import argparse, math, random, time
import numpy as np
import torch, torch.nn as nn, torch.nn.functional as F
from augment import Random, batch
from data import Scenes
from network import Eye


def loss(o, p, r, room=1.0):
    """o: logits N x 2 x 320 x 320; p, r: product and room targets 0 to 1. Cross entropy, soft IoU for the product, Dice for the room."""
    s = torch.sigmoid(o)
    l = F.binary_cross_entropy_with_logits(o[:, 0], p) + 0.6 * room * F.binary_cross_entropy_with_logits(o[:, 1], r)
    i = (s[:, 0] * p).sum((1, 2))
    l = l + (1 - (i + 1) / ((s[:, 0] + p - s[:, 0] * p).sum((1, 2)) + 1)).mean()
    j = (s[:, 1] * r).sum((1, 2))
    return l + 0.4 * room * (1 - (2 * j + 50) / (s[:, 1].sum((1, 2)) + r.sum((1, 2)) + 50)).mean()


def cycle(q):
    """Share of the full rate at progress q, 0 to 1: a tenth of warming up, then a cosine to nothing (Smith and Topin, arXiv 1708.07120)."""
    return (
        0.04 + 0.96 * (1 - math.cos(math.pi * q / 0.1)) / 2
        if q < 0.1
        else (1 + math.cos(math.pi * min(1.0, (q - 0.1) / 0.9))) / 2 + 1e-4
    )


def load(path, dev):
    net = Eye()
    net.load_state_dict({k: t.float() if t.is_floating_point() else t for k, t in torch.load(path, map_location='cpu').items()})
    return net.to(dev)


def save(state, path):
    torch.save({k: t.half().cpu() if t.is_floating_point() else t.cpu() for k, t in state.items()}, path)


class Ensemble:
    """Mean product and room maps of several networks, every second one seeing the mirrored picture, N x 2 x 320 x 320; captured as a graph where it can be."""

    def __init__(self, nets, n, dev, graph):
        self.nets, self.dev, self.g = nets, dev, None
        if graph:
            self.x = torch.zeros(n, 3, 320, 320, device=dev).contiguous(memory_format=torch.channels_last)
            side = torch.cuda.Stream()
            side.wait_stream(torch.cuda.current_stream())
            with torch.cuda.stream(side), torch.no_grad():
                [self.maps(self.x) for _ in range(3)]
            torch.cuda.current_stream().wait_stream(side)
            g = torch.cuda.CUDAGraph()
            with torch.no_grad(), torch.cuda.graph(g):
                self.y = self.maps(self.x)
            self.g = g

    def maps(self, x):
        with torch.autocast(self.dev, torch.bfloat16, cache_enabled=False):
            s = sum(
                torch.sigmoid(t(x.flip(3)).float()).flip(3) if i % 2 else torch.sigmoid(t(x).float())
                for i, t in enumerate(self.nets)
            ) / len(self.nets)
        return F.interpolate(s, size=x.shape[2:], mode='bilinear', align_corners=False)

    def __call__(self, x):
        if self.g is None:
            return self.maps(x)
        self.x.copy_(x)
        self.g.replay()
        return self.y


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('--scenes', nargs='+', required=True)
    ap.add_argument('--out', required=True)
    ap.add_argument('--recipe', default='wide', choices=['base', 'wide'])
    ap.add_argument('--seed', type=int, default=1)
    ap.add_argument('--steps', type=int, default=3400)
    ap.add_argument('--batch', type=int, default=64)
    ap.add_argument('--encoder-start', default='efficientnet-lite0.pth')
    ap.add_argument('--start')
    ap.add_argument('--teachers', nargs='*', default=[])
    ap.add_argument('--photos', default='')
    ap.add_argument('--grounds', default='')
    ap.add_argument('--rate', type=float, default=1.0)
    ap.add_argument('--cache', default='')
    ap.add_argument('--jobs', type=int, default=8)
    ap.add_argument('--surfaces', type=int, default=1200)
    ap.add_argument('--seconds', type=float, default=0, help='run the schedule through in at most this long')
    ap.add_argument('--room', type=float, default=1.0, help='weight of the room losses')
    ap.add_argument('--graph', action='store_true', help='replay the network as a captured graph')
    A = ap.parse_args()
    dev = 'cuda' if torch.cuda.is_available() else 'cpu'
    torch.manual_seed(A.seed)
    np.random.seed(A.seed)
    random.seed(A.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    t0 = time.time()
    D = Scenes(A.scenes, dev, A.surfaces, A.photos if A.recipe == 'wide' else '', A.grounds, A.jobs, A.cache)
    R = Random(A.seed * 1009 + 7, dev)
    print(
        f'{A.out}: {D.n} scenes, {D.n_surface} surfaces, {D.n_photo} surroundings, read in {time.time() - t0:.0f} s', flush=True
    )
    net = (load(A.start, dev) if A.start else Eye(A.encoder_start).to(dev)).to(memory_format=torch.channels_last)
    teachers = [load(t, dev).eval().to(memory_format=torch.channels_last) for t in A.teachers]
    teach = Ensemble(teachers, A.batch, dev, A.graph) if teachers else None
    enc = net.encoder()
    ids = {id(p) for p in enc}
    rates = [3e-4 * A.rate, 1.5e-3 * A.rate]
    opt = torch.optim.AdamW(
        [dict(params=enc, lr=rates[0]), dict(params=[p for p in net.parameters() if id(p) not in ids], lr=rates[1])],
        weight_decay=2e-2,
        fused=dev == 'cuda',
    )
    mean = {k: t.clone().float() for k, t in net.state_dict().items()}
    keys = [k for k, t in net.state_dict().items() if t.is_floating_point()]
    total = torch.zeros((), device=dev)
    net.train()
    run = net
    if A.graph:
        try:
            with torch.autocast(dev, torch.bfloat16, cache_enabled=False):
                run = torch.cuda.make_graphed_callables(
                    net, (torch.rand(A.batch, 3, 320, 320, device=dev).mul_(255).contiguous(memory_format=torch.channels_last),)
                )
        except Exception as e:
            print(f'{A.out} runs without a captured graph: {e}', flush=True)
            run = net
    t0 = time.time()
    for step in range(1, A.steps + 1):
        q = max(step / A.steps, (time.time() - t0) / A.seconds if A.seconds else 0.0)
        for g, rate in zip(opt.param_groups, rates):
            g['lr'] = rate * cycle(q)
        with torch.no_grad():
            x, p, r = batch(R, D, A.batch, A.recipe)
            x = x.contiguous(memory_format=torch.channels_last)
            if teachers:
                s = teach(x)
                p, r = (p + s[:, 0]) / 2, (r + s[:, 1]) / 2
        with torch.autocast(dev, torch.bfloat16, cache_enabled=not A.graph):
            o = run(x)
        l = loss(F.interpolate(o.float(), size=x.shape[2:], mode='bilinear', align_corners=False), p, r, A.room)
        opt.zero_grad(set_to_none=True)
        l.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 2)
        opt.step()
        total += l.detach()
        with torch.no_grad():
            d = min(0.998, step / (step + 20.0))
            sd = net.state_dict()
            torch._foreach_lerp_([mean[k] for k in keys], [sd[k].float() for k in keys], 1 - d)
        if step % 200 == 0 or step == A.steps:
            print(
                f'{A.out} step {step} loss {total.item() / 200:.4f} {(time.time() - t0) / step * 1000:.0f} ms a step',
                flush=True,
            )
            total.zero_()
        if q >= 1:
            print(f'{A.out} ends at step {step} after {time.time() - t0:.0f} s', flush=True)
            break
    sd = net.state_dict()
    save({k: mean[k] if k in keys else sd[k] for k in sd}, A.out)


if __name__ == '__main__':
    main()
