#!/usr/bin/env python3
"""Trains the eye: one network from scenes, or one network that learns what several agree on.

  train.py --scenes DIR... --out W.pt [--recipe base|wide|broad|reach|wider|sets|varied] [--seed N] [--steps N] [--batch 64] [--teachers W.pt...] [--start W.pt]

base: the earlier recipe (its augmentation, brought to the accelerator). wide: the same losses and schedule with further composites,
surfaces, photographed surroundings and camera faults (augment.py). broad: more of what went wrong since, and with --echo each picture
is taken twice, the second time mirrored, with other faults and at the size of the program's close look (data echoing: Choi et al.,
arXiv 1907.05550). reach: also thin parts that grow out of products, and stray lines (limbs.py). wider: also pictograms as
products (cutouts.py). sets: also sets that lie apart (lots.py). varied: rendered scenes in other looks (`varied` in augment.py), some
pictures far out of focus. Weights are saved in half precision, averaged over the last steps (exponential moving average, Polyak and
Juditsky 1992), every minute and at the end. --teachers: distillation (Hinton et al., arXiv 1503.02531): the target is half the truth,
half the teachers' mean map. --more: folder where chunks.py leaves further scenes while this runs.
"""

import argparse, glob, math, os, random, time
import numpy as np
import torch, torch.nn as nn, torch.nn.functional as F
from augment import DRAWN, scenes, shoot
from data import Scenes
from draws import Random, soften
from network import CLOSE, SIZE, Eye

LEVELS = ['base', 'wide', 'broad', 'reach', 'wider', 'sets', 'varied']


def loss(o, p, r, room=1.0, thin=0.0, outline=0.0):
    """o: logits N x 2 x S x S; p, r: product and room targets 0 to 1. Cross entropy, soft IoU for the product, Dice for the room.

    thin: further weight of borders and thin parts in the cross entropy. outline: weight of the Dice of the product map's greatest values
    along rows and columns, which are what the box is read from (projection loss: Tian et al., arXiv 2012.02310)."""
    s = torch.sigmoid(o)
    y = torch.stack([p, r], 1)
    l = F.binary_cross_entropy_with_logits(o, y, reduction='none')
    if thin:
        l = l * (1 + thin * (y - soften(y, 13)).abs())
    l = l.mean((0, 2, 3))
    l = l[0] + 0.6 * room * l[1]
    i = (s[:, 0] * p).sum((1, 2))
    l = l + (1 - (i + 1) / ((s[:, 0] + p - s[:, 0] * p).sum((1, 2)) + 1)).mean()
    j = (s[:, 1] * r).sum((1, 2))
    l = l + 0.4 * room * (1 - (2 * j + 50) / (s[:, 1].sum((1, 2)) + r.sum((1, 2)) + 50)).mean()
    if outline:
        for k in (1, 2):
            a, b = s[:, 0].amax(k), p.amax(k)
            l = l + outline * (1 - (2 * (a * b).sum(1) + 1) / ((a * a + b * b).sum(1) + 1)).mean()
    return l


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
    """Half precision; the file at `path` is whole at any time."""
    torch.save({k: t.half().cpu() if t.is_floating_point() else t.cpu() for k, t in state.items()}, path + '.part')
    os.replace(path + '.part', path)


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


class Same(nn.Module):
    """The same network under another name: what is captured replaces a module's own `forward`."""

    def __init__(self, net):
        super().__init__()
        self.net = net

    def forward(self, x):
        return self.net(x)


def captured(net, n, sides, dev):
    """The network as graphs for batches of n pictures of each side; its running statistics stay as they are."""
    kept = {k: t.clone() for k, t in net.state_dict().items()}
    runs = {}
    with torch.autocast(dev, torch.bfloat16, cache_enabled=False):
        for side in sides:
            x = torch.rand(n, 3, side, side, device=dev).mul_(255).contiguous(memory_format=torch.channels_last)
            runs[side] = torch.cuda.make_graphed_callables(Same(net), (x,))
    net.load_state_dict(kept)
    return runs


class Chunks:
    """Files that appear in a folder, each read once."""

    def __init__(self, folder):
        self.folder, self.seen, self.looked = folder, set(), 0.0

    def new(self, every=4.0):
        """The next file's arrays, or None; looks at most each `every` seconds."""
        if not self.folder or time.time() < self.looked + every:
            return None
        fresh = [f for f in sorted(glob.glob(self.folder + '/*.npz')) if f not in self.seen]
        if not fresh:
            self.looked = time.time()
            return None
        self.seen.add(fresh[0])
        return dict(np.load(fresh[0]))


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('--scenes', nargs='+', required=True)
    ap.add_argument('--out', required=True)
    ap.add_argument('--recipe', default='wide', choices=LEVELS)
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
    ap.add_argument('--more', default='', help='folder of chunks that are added as they come')
    ap.add_argument('--room-for', type=int, nargs=2, default=(6000, 5000), help='scenes and surfaces that --more may add')
    ap.add_argument('--seconds', type=float, default=0, help='run the schedule through in at most this long')
    ap.add_argument('--until', default='', help='file with the Unix time at which the schedule ends')
    ap.add_argument('--room', type=float, default=1.0, help='weight of the room losses')
    ap.add_argument('--thin', type=float, default=0.0)
    ap.add_argument('--outline', type=float, default=0.0)
    ap.add_argument('--drawn', type=float, default=DRAWN, help='share of pictograms among the products of composites, recipe wider')
    ap.add_argument('--joined', type=float, default=0.0, help='share of things grown together (joined.py) among the products of composites')
    ap.add_argument('--echo', action='store_true')
    ap.add_argument('--mean', type=float, default=0.998, help='of the moving average')
    ap.add_argument('--graph', action='store_true', help='replay the network as a captured graph')
    A = ap.parse_args()
    if A.echo and A.teachers:
        ap.error('--teachers see pictures of one size only: not with --echo')
    dev = 'cuda' if torch.cuda.is_available() else 'cpu'
    torch.manual_seed(A.seed)
    np.random.seed(A.seed)
    random.seed(A.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cudnn.benchmark_limit = 3  # trying all of them takes longer than they save
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    t0 = time.time()
    level = LEVELS.index(A.recipe)
    D = Scenes(
        A.scenes, dev, A.surfaces, A.photos if level else '', A.grounds, A.jobs, A.cache, A.room_for if A.more else (0, 0)
    )
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
    total = torch.zeros((), device=dev)
    net.train()
    sides = [SIZE, CLOSE] if A.echo else [SIZE]
    runs = dict.fromkeys(sides, net)
    if A.graph:
        try:
            runs = captured(net, A.batch, sides, dev)
        except Exception as e:
            print(f'{A.out} runs without a captured graph: {e}', flush=True)
    state = net.state_dict()
    mean = {k: t.clone().float() for k, t in state.items()}
    keys = [k for k, t in state.items() if t.is_floating_point()]
    live, slow = [state[k] for k in keys], [mean[k] for k in keys]
    keep = lambda: save({k: mean[k] if k in keys else state[k] for k in state}, A.out)
    t0 = saved = time.time()
    chunks, end, view = Chunks(A.more), 0.0, None
    for step in range(1, A.steps + 1):
        if A.until and step % 50 == 1:
            end = float(open(A.until).read())
        now = time.time()
        q = max(
            step / A.steps, (now - t0) / A.seconds if A.seconds else 0.0, (now - t0) / max(1.0, end - t0) if A.until else 0.0
        )
        for g, rate in zip(opt.param_groups, rates):
            g['lr'] = rate * cycle(q)
        with torch.no_grad():
            if view is None:
                z = chunks.new()
                if z:
                    D.add(z)
                view = scenes(R, D, A.batch, level, A.drawn, A.joined)
                side = SIZE
                x, p, r = shoot(R, *view, level)
                view = view if A.echo else None
            else:
                side = CLOSE
                x, p, r = shoot(R, *view, level, CLOSE, True)
                view = None
            x = x.contiguous(memory_format=torch.channels_last)
            if teachers:
                s = teach(x)
                p, r = (p + s[:, 0]) / 2, (r + s[:, 1]) / 2
        with torch.autocast(dev, torch.bfloat16, cache_enabled=not A.graph):
            o = runs[side](x)
        l = loss(
            F.interpolate(o.float(), size=x.shape[2:], mode='bilinear', align_corners=False), p, r, A.room, A.thin, A.outline
        )
        opt.zero_grad(set_to_none=True)
        l.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 2)
        opt.step()
        total += l.detach()
        with torch.no_grad():
            torch._foreach_lerp_(slow, live, 1 - min(A.mean, step / (step + 20.0)))
        if step % 200 == 0 or step == A.steps:
            print(
                f'{A.out} step {step} loss {total.item() / 200:.4f} {(time.time() - t0) / step * 1000:.0f} ms a step, '
                f'{q:.0%}, {len(D.scene_ids)} scenes, {D.n - len(D.scene_ids)} products alone, {D.n_surface} surfaces, '
                f'{torch.cuda.max_memory_allocated() / 2**30 if dev == "cuda" else 0:.0f} GiB',
                flush=True,
            )
            total.zero_()
        if time.time() > saved + 60:
            keep()
            saved = time.time()
        if q >= 1:
            print(f'{A.out} ends at step {step} after {time.time() - t0:.0f} s', flush=True)
            break
    keep()


if __name__ == '__main__':
    main()
