#!/usr/bin/env python3
"""Writes the weights as the file the program reads: export.py W.pt eye.onnx

ONNX opset 17, input `rgb` 1 x 3 x h x w (0 to 255, sides any multiple of 32), output `logits` 1 x 2 x h/2 x w/2; batch norms are folded into the convolutions.
pack.py makes the file that the program embeds out of it.
"""

import argparse, hashlib
import torch, torch.nn as nn
from torch.nn.utils.fusion import fuse_conv_bn_eval
from train import load


def folded(net):
    """The same network with each batch norm merged into the convolution before it."""
    net.eval()
    net.stem, net.norm = fuse_conv_bn_eval(net.stem, net.norm), nn.Identity()
    for b in net.blocks:
        if hasattr(b, '_expand_conv'):
            b._expand_conv, b._bn0 = fuse_conv_bn_eval(b._expand_conv, b._bn0), nn.Identity()
        b._depthwise_conv, b._bn1 = fuse_conv_bn_eval(b._depthwise_conv, b._bn1), nn.Identity()
        b._project_conv, b._bn2 = fuse_conv_bn_eval(b._project_conv, b._bn2), nn.Identity()
    for u in (net.u1, net.u2, net.u3, net.u4):
        u.join, u.n1 = fuse_conv_bn_eval(u.join, u.n1), nn.Identity()
        u.depth, u.n2 = fuse_conv_bn_eval(u.depth, u.n2), nn.Identity()
        u.point, u.n3 = fuse_conv_bn_eval(u.point, u.n3), nn.Identity()
    return net


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('weights')
    ap.add_argument('out')
    A = ap.parse_args()
    net = load(A.weights, 'cpu').eval()
    x = torch.rand(1, 3, 320, 320) * 255
    with torch.no_grad():
        a = net(x)
        net = folded(net)
        b = net(x)
        print('folding changes the logits by at most', float((a - b).abs().max()))
    torch.onnx.export(net, x, A.out, opset_version=17, input_names=['rgb'], output_names=['logits'], dynamo=False,
                      dynamic_axes={'rgb': {2: 'h', 3: 'w'}, 'logits': {2: 'h/2', 3: 'w/2'}})
    d = open(A.out, 'rb').read()
    print(len(d), 'bytes, sha-256', hashlib.sha256(d).hexdigest())


if __name__ == '__main__':
    main()
