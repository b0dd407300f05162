"""Seeded draws and the few operations on pictures that all augmentation is made of.

Tensors N x C x S x S. Nothing here makes the processor wait for the accelerator.
"""

import functools, random
import torch, torch.nn.functional as F

S = 320


class Random:
    """Per-sample draws from one seeded generator."""

    def __init__(self, seed, dev):
        self.g = torch.Generator(dev)
        self.g.manual_seed(seed)
        self.dev = dev
        self.c = random.Random(seed)

    def u(self, n, lo=0.0, hi=1.0, k=None):
        return torch.rand((n,) if k is None else (n, k), generator=self.g, device=self.dev) * (hi - lo) + lo

    def p(self, n, q):
        return torch.rand(n, generator=self.g, device=self.dev) < q

    def i(self, n, hi):
        return torch.randint(0, hi, (n,), generator=self.g, device=self.dev)

    def some(self, n, q):
        return torch.randperm(n, generator=self.g, device=self.dev)[: int(q * n + self.c.random())]  # a share q of n samples

    def normal(self, *s):
        return torch.randn(s, generator=self.g, device=self.dev)


def v(x):
    return x.view(-1, 1, 1, 1)


@functools.lru_cache
def fixed(values, dev):
    """A constant (nested tuples) on the device, copied there once: each copy would wait for all kernels before it."""
    return torch.tensor(values, device=dev)


@functools.lru_cache
def plane(dev):
    q = (torch.arange(S, device=dev) + 0.5) / S
    return q[None, None, :].expand(1, S, S), q[None, :, None].expand(1, S, S)  # x, y in 0..1


def grid(x, y):
    return torch.stack([x, y], -1) * 2 - 1


def take(img, x, y, pad='reflection'):
    return F.grid_sample(img, grid(x, y), mode='bilinear', padding_mode=pad, align_corners=False)


def soften(m, k):
    """Box blur twice by k pixels (odd), for shadows; rows and columns apart."""
    for _ in range(2):
        m = F.avg_pool2d(m, (k, 1), 1, (k // 2, 0), count_include_pad=False)
        m = F.avg_pool2d(m, (1, k), 1, (0, k // 2), count_include_pad=False)
    return m


def noise(R, n, cells, c=1):
    return F.interpolate(R.normal(n, c, cells + 1, cells + 1), size=(S, S), mode='bicubic', align_corners=False)
