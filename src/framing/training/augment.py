"""Training pictures made on the accelerator: crops of rendered scenes, composites on procedural surfaces, and cameras' faults.

Owns all randomness between the stored scenes and the network. Tensors N x C x 320 x 320; pictures 0 to 1, masks 0 or 1.
"""

import math, random
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


def plane(dev):
    q = (torch.arange(S, device=dev) + 0.5) / S
    return q[None, None, :].expand(1, S, S), q[None, :, None].expand(1, S, S)  # x, y in 0..1


def grid(x, y):
    return torch.stack([x, y], -1) * 2 - 1


def take(img, x, y, pad='reflection'):
    return F.grid_sample(img, grid(x, y), mode='bilinear', padding_mode=pad, align_corners=False)


def soften(m, k):
    """Box blur twice by k pixels (odd), for shadows."""
    return F.avg_pool2d(F.avg_pool2d(m, k, 1, k // 2, count_include_pad=False), k, 1, k // 2, count_include_pad=False)


def noise(R, n, cells, c=1):
    return F.interpolate(R.normal(n, c, cells + 1, cells + 1), size=(S, S), mode='bicubic', align_corners=False)


def crop(R, D, idx):
    """A window of stored scenes, turned a little and mirrored; the product stays inside in most. Returns picture, product, room."""
    n = len(idx)
    X, Y = plane(R.dev)
    b = D.box[idx]
    k = torch.where(R.p(n, 0.25), R.u(n, 0.22, 0.6), R.u(n, 0.5, 1.0))
    go = R.p(n, 0.68)
    w = torch.where(go, (k * R.u(n, 0.85, 1.15)).clamp(max=1), torch.ones_like(k))
    h = torch.where(go, (k * R.u(n, 0.85, 1.15)).clamp(max=1), torch.ones_like(k))
    w, h = torch.maximum(w, (b[:, 2] - b[:, 0] + 0.01).clamp(max=1)), torch.maximum(h, (b[:, 3] - b[:, 1] + 0.01).clamp(max=1))
    free = R.p(n, 0.05)

    def start(size, lo, hi):
        a, z = torch.where(free, 0 * lo, (hi - size).clamp(min=0)), torch.where(free, 1 - size, torch.minimum(lo, 1 - size))
        return a + (z - a).clamp(min=0) * R.u(n)

    x0, y0 = start(w, b[:, 0], b[:, 2]), start(h, b[:, 1], b[:, 3])
    t = torch.where(R.p(n, 0.35), R.u(n, -0.22, 0.22), torch.zeros(n, device=R.dev))
    f = torch.where(R.p(n, 0.5), -1.0, 1.0)
    q = lambda a: a.view(-1, 1, 1)
    u, w_ = (X - 0.5) * q(f), Y - 0.5
    c, s = q(t.cos()), q(t.sin())
    x = q(x0 + w / 2) + (u * c - w_ * s) * q(w)
    y = q(y0 + h / 2) + (u * s + w_ * c) * q(h)
    return take(D.picture(idx), x, y), (take(D.product(idx), x, y) > 0.5).float(), (take(D.room(idx), x, y) > 0.5).float()


def cutout(R, D, idx, cx, cy, size, turn, flip):
    """Products laid at (cx, cy) with their longer side `size`: picture, soft alpha, and the half sides they then have."""
    n = len(idx)
    X, Y = plane(R.dev)
    b = D.box[idx]
    bw, bh = b[:, 2] - b[:, 0], b[:, 3] - b[:, 1]
    k = torch.maximum(bw, bh) / size
    ka = k * R.u(n, 0.88, 1.14)
    thin = torch.where(R.p(n, 0.12), R.u(n, 1.5, 3.0), torch.ones_like(k))  # across the shorter side
    ka, k = torch.where(bw <= bh, ka * thin, ka), torch.where(bw > bh, k * thin, k)
    q = lambda a: a.view(-1, 1, 1)
    u, w = (X - q(cx)), (Y - q(cy))
    c, s = q(turn.cos()), q(turn.sin())
    x = q((b[:, 0] + b[:, 2]) / 2) + (u * c - w * s) * q(ka * flip)
    y = q((b[:, 1] + b[:, 3]) / 2) + (u * s + w * c) * q(k)
    a = take(D.product(idx), x, y, 'zeros')
    a = F.avg_pool2d(a, 3, 1, 1)
    a = ((a - 0.35) / 0.5).clamp(0, 1)
    C, Sn = turn.cos().abs(), turn.sin().abs()
    hw, hh = bw / ka / 2, bh / k / 2
    return take(D.picture(idx), x, y, 'border'), a, hw * C + hh * Sn, hw * Sn + hh * C


def texture(R, D, n, photo=0.0):
    """Surfaces of the bank seen at an angle, graded; some are photographs (surroundings) when photo > 0."""
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    t = torch.where(R.p(n, 0.5), R.i(n, 4) * (math.pi / 2), R.u(n, 0, 6.3))
    per = torch.where(R.p(n, 0.6), R.u(n, 0, 1.6), torch.zeros(n, device=R.dev))
    w = 1 + q(per) * (1 - Y)
    z = q(R.u(n, 0.12, 1.0))
    u, s = (X - 0.5) * w * z, (Y - 0.5) * w * z
    x = q(R.u(n)) + u * q(t.cos()) - s * q(t.sin())
    y = q(R.u(n)) + u * q(t.sin()) + s * q(t.cos())
    a = take(D.surface(R.i(n, D.n_surface)), x, y)
    if photo > 0 and D.n_photo:
        z = q(R.u(n, 0.25, 0.9))
        a = torch.where(v(R.p(n, photo)), take(D.photo(R.i(n, D.n_photo)), q(R.u(n)) + (X - 0.5) * z, 0.5 + (Y - 0.5) * z), a)
    a = torch.where(v(R.p(n, 0.15)), a.mean(1, keepdim=True) + 0.04 * R.normal(n, 3, 1, 1), a)
    return ((a - 0.5) * v(R.u(n, 0.4, 1.3)) + 0.5 + v(R.u(n, -0.2, 0.2))).clamp(0, 1)


def layout(R, n, cx, cy, hw, hh):
    """Where the surface ends: straight ends, many-sided and rounded outlines, live edges. Room mask N x 1 x S x S, never all."""
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    room = torch.zeros(n, S, S, dtype=torch.bool, device=R.dev)
    kind = R.u(n)
    rough = torch.where(R.p(n, 0.25), R.u(n, 0.003, 0.02), torch.zeros(n, device=R.dev))
    wave = noise(R, n, 12)[:, 0] * q(rough)
    tilt = R.u(n, -0.3, 0.3)
    sides = torch.where(kind < 0.5, 1 + R.i(n, 3), torch.where(kind < 0.74, 3 + R.i(n, 5), torch.zeros_like(R.i(n, 2))))
    loose = R.u(n, 0.0, 0.9)
    for k in range(8):
        t = torch.where(
            sides > 3,
            k * 2 * math.pi / sides.clamp(min=1) + tilt * 3,
            R.i(n, 4) * (math.pi / 2) + tilt * torch.where(R.p(n, 0.3), 2.0, 0.6),
        )
        nx, ny = t.cos(), t.sin()
        inner = nx * cx + ny * cy + nx.abs() * hw + ny.abs() * hh
        outer = nx.clamp(min=0) + ny.clamp(min=0)
        d = (
            inner
            + 0.012
            + (outer - inner - 0.02).clamp(min=0.0) * torch.where(sides > 3, loose * R.u(n, 0.7, 1.2), R.u(n, 0.0, 0.9))
        )
        d = torch.where((ny < -0.7) & R.p(n, 0.25), inner - R.u(n, 0, 1.2) * hh, d)
        room |= (q(nx) * X + q(ny) * Y + wave > q(d)) & q(k < sides)
    e = torch.tensor([2.0, 2.0, 3.0, 5.0, 9.0], device=R.dev)[R.i(n, 5)]
    grow = 2 ** (1 / e)
    a, b = hw * grow * R.u(n, 1.03, 2.6), hh * grow * R.u(n, 1.03, 2.6)
    rd = R.p(n, 0.4)
    m = torch.maximum(a, b)
    a, b = torch.where(rd, m, a), torch.where(rd, m, b)
    c, s = q(tilt.cos()), q(tilt.sin())
    u, w = X - q(cx), Y - q(cy)
    far = (((u * c - w * s).abs() + wave.abs()) / q(a)) ** q(e) + ((u * s + w * c).abs() / q(b)) ** q(e) > 1
    room |= far & q(kind >= 0.74)
    return room[:, None].float()


SKIN = [(0.9, 0.72, 0.62), (0.82, 0.62, 0.5), (0.7, 0.5, 0.38), (0.5, 0.34, 0.25), (0.33, 0.22, 0.17), (0.95, 0.8, 0.72)]


def backdrop(R, D, B, cy, hh):
    """A wall, a sheet or a board that stands behind the product and belongs to the surface: what lies above a line through or over it."""
    n = len(B)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    behind = texture(R, D, n)
    w = R.c.choice([1, 1, 3, 7, 13])
    behind = soften(behind, w) if w > 1 else behind
    level = cy - hh + 2 * hh * R.u(n, -0.35, 0.85)
    d = Y + (X - 0.5) * q(R.u(n, -0.08, 0.08)) - q(level)
    m = torch.sigmoid(-d / q(torch.where(R.p(n, 0.3), R.u(n, 0.01, 0.06), torch.full((n,), 0.0015, device=R.dev))))[:, None]
    line = 1 - v(R.u(n, 0, 0.4) * R.p(n, 0.5)) * torch.exp(-((d / 0.012) ** 2))[:, None]
    return (B * (1 - m) + behind * v(R.u(n, 0.6, 1.15)) * m) * line


def arm(R, cx, cy, hw, hh):
    """A forearm that comes in from the frame's border and a hand of four fingers near the product: picture and alpha."""
    n = len(cx)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    t = torch.where(R.p(n, 0.6), R.u(n, -0.7, 0.7) + math.pi / 2, R.u(n, 0, 6.3))
    c, s = t.cos(), t.sin()
    z = torch.maximum(hw, hh).clamp(0.08, 0.3) * R.u(n, 0.6, 1.3)
    tip = hw * c.abs() + hh * s.abs() + z * R.u(n, -0.45, 0.5)
    px, py = cx + c * (tip + 0.9 * z), cy + s * (tip + 0.9 * z)
    u, w = (X - q(px)) * q(c) + (Y - q(py)) * q(s), (X - q(px)) * q(-s) + (Y - q(py)) * q(c)  # along the arm, outwards; across
    u, w = u / q(z), w / q(z)

    def limb(u0, w0, u1, w1, r0, r1):
        k = (((u - u0) * (u1 - u0) + (w - w0) * (w1 - w0)) / ((u1 - u0) ** 2 + (w1 - w0) ** 2)).clamp(0, 1)
        return torch.hypot(u - u0 - k * (u1 - u0), w - w0 - k * (w1 - w0)) / (r0 + k * (r1 - r0))

    spread = R.c.uniform(0.7, 1.3)
    parts = [limb(0.1, 0.0, 6.0, R.c.uniform(-1, 1), 0.3, 0.5), limb(-0.05, -0.2, -0.05, 0.2, 0.26, 0.26)]
    for k in range(4):
        y = (k - 1.5) * 0.19
        parts.append(limb(-0.1, y, -0.55 - 0.2 * R.c.random(), y * spread + R.c.uniform(-0.08, 0.08), 0.12, 0.09))
    parts.append(limb(0.1, 0.25, -0.3, 0.5 * spread, 0.13, 0.1))
    d = torch.stack(parts).amin(0)
    skin = torch.tensor(SKIN, device=R.dev)[R.i(n, len(SKIN))].view(n, 3, 1, 1) * v(R.u(n, 0.75, 1.1))
    sleeve = (u > q(R.u(n, 0.5, 1.5)))[:, None] & v(R.p(n, 0.5))
    img = torch.where(sleeve, R.u(n, 0, 1, 3).view(n, 3, 1, 1), skin) * (1 - 0.4 * d.clamp(0, 1) ** 2)[:, None]
    return img.clamp(0, 1), ((1.04 - d) / 0.08).clamp(0, 1)[:, None]


def scraps(R, img, count, where=None):
    """Small plain things that are no product: ellipses and rectangles of any colour."""
    n = len(img)
    X, Y = plane(R.dev)
    q = lambda a: a.view(-1, 1, 1)
    big = R.p(n, 0.3)
    for _ in range(count):
        r = torch.where(big, R.u(n, 0.02, 0.16), R.u(n, 0.004, 0.03))
        t = R.u(n, 0, 6.3)
        u, w = X - q(R.u(n)), Y - q(R.u(n))
        x, y = (u * q(t.cos()) - w * q(t.sin())) / q(r * R.u(n, 0.3, 1)), (u * q(t.sin()) + w * q(t.cos())) / q(r)
        m = torch.where(q(R.p(n, 0.5)), x * x + y * y < 1, torch.maximum(x.abs(), y.abs()) < 1)[:, None] & v(R.p(n, 0.45))
        if where is not None:
            m = m & (where > 0.5)
        img = torch.where(m, (R.u(n, 0, 1, 3).view(n, 3, 1, 1) * (1 + 0.3 * y[:, None].clamp(-1, 1))).clamp(0, 1), img)
    return img


def shade(R, img, a, top=0.6):
    """A soft shadow of alpha a, thrown to one side."""
    k = [5, 9, 15, 25][R.c.randrange(4)]
    s = soften(a, k)
    dx, dy = R.c.randrange(31) - 15, R.c.randrange(16) - 2
    s = torch.roll(s, (dy, dx), (2, 3))
    return img * (1 - v(R.u(len(img), 0.05, top)) * s)


def colour(R, img):
    """Another hue, saturation, gain: for cut-outs, apart from what they lie on."""
    n = len(img)
    t = torch.where(R.p(n, 0.5), R.u(n, -0.5, 0.5), R.u(n, 0, 6.3)) * R.p(n, 0.6)
    return hue(img, t, R.u(n, 0.4, 1.4)) * v(R.u(n, 0.6, 1.35))


def hue(img, t, sat):
    """Turn the chroma plane of YIQ by t, scale it by sat."""
    r, g, b = img.unbind(1)
    y = 0.299 * r + 0.587 * g + 0.114 * b
    i = 0.596 * r - 0.274 * g - 0.322 * b
    q = 0.211 * r - 0.523 * g + 0.312 * b
    c, s = (t.cos() * sat).view(-1, 1, 1), (t.sin() * sat).view(-1, 1, 1)
    i, q = i * c - q * s, i * s + q * c
    return torch.stack([y + 0.956 * i + 0.621 * q, y - 0.272 * i - 0.647 * q, y - 1.106 * i + 1.703 * q], 1).clamp(0, 1)


def compose(R, D, idx, wide):
    """Products cut out and laid on surfaces of the bank, with shadows, a room beyond, things beside. Returns picture, product, room."""
    n = len(idx)
    one = lambda p: torch.where(R.p(n, p), -1.0, 1.0)
    size = torch.where(R.p(n, 0.2 if wide else 0.0), R.u(n, 0.7, 0.97), R.u(n, 0.14, 0.72))
    twin = R.p(n, 0.1 if wide else 0.0)
    size = torch.where(twin, size * 0.55, size)
    cx, cy = 0.5 + (R.u(n) - 0.5) * (1 - size) * 0.9, 0.5 + (R.u(n) - 0.5) * (1 - size) * 0.9
    turn = torch.where(R.p(n, 0.75), R.u(n, -0.2, 0.2), R.u(n, 0, 6.3))
    f = one(0.5)
    img, a, hw, hh = cutout(R, D, idx, cx, cy, size, turn, f)
    img = colour(R, img) if wide else img
    B = texture(R, D, n)
    if wide:
        k = R.some(n, 0.2)
        B[k] = backdrop(R, D, B[k], cy[k], hh[k])
    k = R.some(n, 0.5)
    B[k] = scraps(R, B[k], 4)
    rs = R.some(n, 0.58 if wide else 0.45)
    room = torch.zeros(n, 1, S, S, device=R.dev)
    both = a
    if len(rs):
        m = layout(R, len(rs), cx[rs], cy[rs], hw[rs], hh[rs])
        room[rs] = m
        ground = B[rs]
        beyond = texture(R, D, len(rs), 0.35 if wide else 0.0)
        if wide:
            k = R.some(len(rs), 0.12)  # the surface's own pattern goes on beyond its end
            beyond[k] = torch.roll(ground[k].flip(R.c.choice([2, 3])), R.c.randrange(S), 3) * v(R.u(len(k), 0.6, 1.1))
            beyond = furnish(R, D, beyond, ground, m)
        B[rs] = torch.where(m > 0.5, beyond, ground)
    if wide:  # other things, partly out of the frame or smaller, behind the product
        for share in (0.35, 0.2):
            k = R.some(n, share)
            z = len(k)
            if not z:
                continue
            j = idx[torch.randperm(n, generator=R.g, device=R.dev)][k]
            s2 = size[k].clamp(min=0.2) * R.u(z, 0.4, 1.3)
            side = R.i(z, 4)
            off = R.u(z, -0.1, 0.22) * s2
            ex = torch.where(side == 0, off, torch.where(side == 1, 1 - off, R.u(z)))
            ey = torch.where(side == 2, off, torch.where(side == 3, 1 - off, R.u(z)))
            o, oa, _, _ = cutout(R, D, j, ex, ey, s2, R.u(z, -0.3, 0.3), one(0.5)[:z])
            b = shade(R, B[k], oa)
            B[k] = b * (1 - oa) + colour(R, o) * oa
            room[k] = room[k] * (oa < 0.5)
        k = torch.where(twin)[0]
        if len(k):  # a second piece of the same product belongs to it
            z = len(k)
            o, oa, _, _ = cutout(
                R,
                D,
                idx[k],
                (cx + (hw * 2 + 0.01) * torch.where(cx < 0.5, 1.0, -1.0))[k],
                cy[k] + R.u(z, -0.05, 0.05),
                size[k] * R.u(z, 0.85, 1.1),
                turn[k] + R.u(z, -0.15, 0.15),
                -f[k],
            )
            b = shade(R, B[k], oa)
            B[k] = b * (1 - oa) + o * oa
            both = a.clone()
            both[k] = torch.maximum(a[k], oa)
    k = R.some(n, 0.13 if wide else 0.0)
    if len(k):  # a hand beside, under or before the product
        h, ha = arm(R, cx[k], cy[k], hw[k], hh[k])
        b = shade(R, B[k], ha)
        B[k] = b * (1 - ha) + h * ha
        room[k] = room[k] * (ha < 0.5)
        over = (1 - ha * v(R.p(len(k), 0.4)))
        a = a.clone()
        a[k] = a[k] * over
        both = both.clone()
        both[k] = both[k] * over
    B = shade(R, B, a)
    k = R.some(n, 0.5)
    B[k] = shade(R, B[k], a[k], 0.45)
    out = B * (1 - a) + img * a
    k = R.some(n, 0.5)
    out[k] = out[k] * (1 + noise(R, len(k), 2) * v(R.u(len(k), 0, 0.12)))
    return out.clamp(0, 1), (both > 0.5).float(), room * (both < 0.5)


def furnish(R, D, beyond, ground, room):
    """A room that is more than one texture: a second surface, things, blur, other light, the board's shadow and side."""
    n = len(beyond)
    h = torch.full((n,), 0.1, device=R.dev)
    k = R.some(n, 0.5)
    if len(k):
        z = len(k)
        beyond[k] = torch.where(
            layout(R, z, R.u(z, 0.3, 0.7), R.u(z, 0.3, 0.7), h[k], h[k]) > 0.5, texture(R, D, z, 0.2), beyond[k]
        )
    k = R.some(n, 0.6)
    beyond[k] = scraps(R, beyond[k], 5)
    q = R.c.choice([1, 1, 5, 9, 17])
    beyond = soften(beyond, q) if q > 1 else beyond
    k = R.some(n, 0.7)
    beyond[k] = beyond[k] * v(R.u(len(k), 0.4, 1.2))
    dark = torch.roll(soften(1 - room, 15), (R.c.randrange(14), R.c.randrange(21) - 10), (2, 3))
    k = R.some(n, 0.5)
    beyond[k] = beyond[k] * (1 - v(R.u(len(k), 0, 0.6)) * dark[k])
    th = R.c.randrange(1, 15)
    edge = (torch.roll(1 - room, th, 2) > 0.5) & (room > 0.5)
    edge[:, :, :th] = False
    return torch.where(edge & v(R.p(n, 0.5)), torch.roll(ground, th, 2) * v(R.u(n, 0.4, 0.9)), beyond)


DCT = torch.tensor(
    [[math.sqrt((1 if k == 0 else 2) / 8) * math.cos((2 * x + 1) * k * math.pi / 16) for x in range(8)] for k in range(8)]
)
QY = torch.tensor(
    [
        16,
        11,
        10,
        16,
        24,
        40,
        51,
        61,
        12,
        12,
        14,
        19,
        26,
        58,
        60,
        55,
        14,
        13,
        16,
        24,
        40,
        57,
        69,
        56,
        14,
        17,
        22,
        29,
        51,
        87,
        80,
        62,
        18,
        22,
        37,
        56,
        68,
        109,
        103,
        77,
        24,
        35,
        55,
        64,
        81,
        104,
        113,
        92,
        49,
        64,
        78,
        87,
        103,
        121,
        120,
        101,
        72,
        92,
        95,
        98,
        112,
        100,
        103,
        99.0,
    ]
).view(8, 8)  # ITU-T T.81 Annex K, table K.1


def jpeg(R, img, q):
    """Block quantisation of luma and halved chroma at quality q, with the standard's luma table for all."""
    n = len(img)
    C = DCT.to(R.dev)
    s = torch.where(q < 50, 50 / q, 2 - q / 50).view(-1, 1, 1, 1, 1, 1)
    Q = (QY.to(R.dev) / 255).view(1, 1, 1, 1, 8, 8) * s

    def block(p):
        c, h, w = p.shape[1:]
        b = p.view(n, c, h // 8, 8, w // 8, 8).transpose(3, 4)
        d = C @ (b - 0.5) @ C.T
        d = torch.round(d / Q.clamp(min=1 / 255)) * Q.clamp(min=1 / 255)
        return (C.T @ d @ C + 0.5).transpose(3, 4).reshape(n, c, h, w)

    y = img[:, :1] * 0.299 + img[:, 1:2] * 0.587 + img[:, 2:] * 0.114
    ch = torch.cat([(img[:, 2:] - y) * 0.564, (img[:, :1] - y) * 0.713], 1) + 0.5
    y = block(y)
    ch = F.interpolate(block(F.avg_pool2d(ch, 2)), scale_factor=2.0, mode='bilinear', align_corners=False) - 0.5
    r, b = y + ch[:, 1:] / 0.713, y + ch[:, :1] / 0.564
    return torch.cat([r, (y - 0.299 * r - 0.114 * b) / 0.587, b], 1).clamp(0, 1)


def camera(R, img, wide):
    """Hue, saturation, contrast, brightness, gamma, white balance, grey, stains, vignette, blur (round and of a moving hand), noise (fine and coarse), JPEG."""
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


def batch(R, D, n, recipe):
    """n training samples: pictures 0 to 255, product and room masks; the last share of them composites."""
    wide = recipe != 'base'
    idx = D.draw(R, n)
    c = int(n * (0.45 if wide else 0.4) + R.c.random())
    img, p, r = crop(R, D, idx[c:])
    whole = torch.where(D.whole[idx[:c]], idx[:c], D.whole_ids[R.i(c, len(D.whole_ids))])
    ci, cp, cr = compose(R, D, whole, wide)
    return (camera(R, torch.cat([img, ci]), wide) * 255).round(), torch.cat([p, cp])[:, 0], torch.cat([r, cr])[:, 0]
