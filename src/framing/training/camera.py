"""What a camera does to a picture: colour, contrast, stains, blur, noise, block compression.

Owns faults of the picture alone; masks stay as they are. Tensors N x 3 x S x S, 0 to 1, S a multiple of 16.
"""

import math
import torch, torch.nn.functional as F
from draws import S, fixed, noise, plane, soften, v


def hue(img, t, sat):
    """Turn the chroma plane of YIQ by t, scale it by sat."""
    r, g, b = img.unbind(1)
    y = 0.299 * r + 0.587 * g + 0.114 * b
    i = 0.596 * r - 0.274 * g - 0.322 * b
    q = 0.211 * r - 0.523 * g + 0.312 * b
    c, s = (t.cos() * sat).view(-1, 1, 1), (t.sin() * sat).view(-1, 1, 1)
    i, q = i * c - q * s, i * s + q * c
    return torch.stack([y + 0.956 * i + 0.621 * q, y - 0.272 * i - 0.647 * q, y - 1.106 * i + 1.703 * q], 1).clamp(0, 1)


DCT = tuple(
    tuple(math.sqrt((1 if k == 0 else 2) / 8) * math.cos((2 * x + 1) * k * math.pi / 16) for x in range(8)) for k in range(8)
)
QY = (
    (16, 11, 10, 16, 24, 40, 51, 61),
    (12, 12, 14, 19, 26, 58, 60, 55),
    (14, 13, 16, 24, 40, 57, 69, 56),
    (14, 17, 22, 29, 51, 87, 80, 62),
    (18, 22, 37, 56, 68, 109, 103, 77),
    (24, 35, 55, 64, 81, 104, 113, 92),
    (49, 64, 78, 87, 103, 121, 120, 101),
    (72, 92, 95, 98, 112, 100, 103, 99),
)  # ITU-T T.81 Annex K, table K.1


def jpeg(R, img, q):
    """Block quantisation of luma and halved chroma at quality q, with the standard's luma table for all."""
    n = len(img)
    C = fixed(DCT, R.dev)
    s = torch.where(q < 50, 50 / q, 2 - q / 50).view(-1, 1, 1, 1, 1, 1)
    Q = ((fixed(QY, R.dev) / 255).T.view(1, 1, 1, 1, 8, 8) * s).clamp(min=1 / 255)

    def block(p):
        c, h, w = p.shape[1:]
        b = p.view(n, c, h // 8, 8, w // 8, 8).transpose(3, 4)
        d = ((b - 0.5) @ C.T).transpose(4, 5) @ C.T  # the transform, transposed
        d = torch.round(d / Q) * Q
        return ((d @ C).transpose(4, 5) @ C + 0.5).transpose(3, 4).reshape(n, c, h, w)

    y = img[:, :1] * 0.299 + img[:, 1:2] * 0.587 + img[:, 2:] * 0.114
    ch = torch.cat([(img[:, 2:] - y) * 0.564, (img[:, :1] - y) * 0.713], 1) + 0.5
    y = block(y)
    ch = F.interpolate(block(F.avg_pool2d(ch, 2)), scale_factor=2.0, mode='bilinear', align_corners=False) - 0.5
    r, b = y + ch[:, 1:] / 0.713, y + ch[:, :1] / 0.564
    return torch.cat([r, (y - 0.299 * r - 0.114 * b) / 0.587, b], 1).clamp(0, 1)


def camera(R, img, wide, deep=False):
    """Hue, saturation, contrast, brightness, gamma, white balance, grey, stains, vignette, blur (round and of a moving hand), noise (fine and coarse), JPEG. deep: some are far out of focus."""
    n = len(img)
    one = torch.ones(n, device=R.dev)
    sel = lambda p, a, b: torch.where(R.p(n, p), a, b)
    img = hue(img, sel(0.5, sel(0.7, R.u(n, -0.98, 0.98), R.u(n, 0, 6.3)), 0 * one), sel(0.5, R.u(n, 0.2, 1.7), one))
    mean = img.mean((1, 2, 3), keepdim=True)
    img = (img - mean) * v(sel(0.6, R.u(n, 0.6, 1.5), one)) + mean
    img = img * v(sel(0.6, R.u(n, 0.55, 1.5), one))
    img = img.clamp(1e-4, 1) ** v(sel(0.4, R.u(n, 0.65, 1.5), one))
    img = img * (1 + (R.u(n, -0.16, 0.16, 3) * sel(0.4, one, 0 * one)[:, None]).view(n, 3, 1, 1))
    img = torch.where(v(R.p(n, 0.1)), img.mean(1, keepdim=True), img)
    c = [2, 4, 8, 16][R.c.randrange(4)]
    img = img + noise(R, n, c) * v(sel(0.4, R.u(n, 0.01, 0.07), 0 * one))
    if wide:
        X, Y = plane(R.dev)
        img = img * (1 - v(sel(0.3, R.u(n, 0, 0.7), 0 * one)) * (((X - 0.5) ** 2 + (Y - 0.5) ** 2) * 1.4)[:, None])
    k = torch.arange(-4, 5, device=R.dev).float()
    s = sel(0.35, R.u(n, 0.3, 1.9), 0.05 * one).view(-1, 1, 1)
    K = torch.exp(-(k[None, :, None] ** 2 + k[None, None, :] ** 2) / (2 * s * s))
    if wide:
        t = R.u(n, 0, 3.15).view(-1, 1, 1)
        L = R.u(n, 1, 4).view(-1, 1, 1)
        al, ac = k[None, None] * t.cos() + k[None, :, None] * t.sin(), -k[None, None] * t.sin() + k[None, :, None] * t.cos()
        K = torch.where(R.p(n, 0.08).view(-1, 1, 1), torch.exp(-((ac / 0.6) ** 2)) * (al.abs() <= L), K)
    K = (K / K.sum((1, 2), keepdim=True))[:, None].expand(n, 3, 9, 9).reshape(n * 3, 1, 9, 9)
    img = F.conv2d(F.pad(img.reshape(1, n * 3, S, S), (4,) * 4, mode='reflect'), K, groups=n * 3).view(n, 3, S, S)
    if deep:
        k = R.some(n, 0.06)
        img[k] = soften(img[k], R.c.choice([5, 7, 9, 13]))
    img = img + R.normal(n, 3, S, S) * v(sel(0.5, R.u(n, 0.004, 0.04), 0 * one))
    if wide:
        k = R.some(n, 0.25)
        img[k] = img[k] + F.interpolate(
            R.normal(len(k), 3, S // 2, S // 2), scale_factor=2.0, mode='bilinear', align_corners=False
        ) * v(R.u(len(k), 0.005, 0.05))
    img = img.clamp(0, 1)
    k = R.some(n, 0.45)
    img[k] = jpeg(R, img[k], R.u(len(k), 15, 90))
    return img


