#!/usr/bin/env python3
"""Weights to go on training from, out of the file that the program embeds:
unpack.py weights.onnx --scenes DIR... --out W.pt [--recipe varied --more DIR --photos DIR --grounds DIR]

The packed file keeps convolutions with their batch norms folded in. They are put back in the network's own order, and each batch norm
is set so that it changes nothing: its scale and shift undo the mean and the spread that its input has over the pictures of a training
(data-dependent start: Kraehenbuehl et al., arXiv 1511.06856). It must be the pictures of the recipe that follows: a training normalises
by each batch, so a start whose norms were measured on other pictures is another network from its first step on. Prints by how much the
maps then differ, as the program runs the network and as a training does.
"""

import argparse
import numpy as np
import onnx
import torch
from onnx import numpy_helper
from network import Eye
from settle import pictures, wants_pictures
from train import save


def layers(net):
    """(convolution, its batch norm or None) in the order in which a picture meets them."""
    yield net.stem, net.norm
    for b in net.blocks:
        if hasattr(b, '_expand_conv'):
            yield b._expand_conv, b._bn0
        yield b._depthwise_conv, b._bn1
        yield b._project_conv, b._bn2
    yield net.deep, None
    for u in (net.u1, net.u2, net.u3, net.u4):
        yield from ((u.join, u.n1), (u.depth, u.n2), (u.point, u.n3))
    yield net.out, None


def packed(path):
    """(weight, bias) of each convolution of the file, in its order."""
    graph = onnx.load(path).graph
    known = {t.name: numpy_helper.to_array(t) for t in graph.initializer}
    for n in graph.node:
        if n.op_type == 'Cast' and n.input[0] in known:
            known[n.output[0]] = known[n.input[0]].astype(np.float32)
    return [[torch.from_numpy(np.array(known[i], np.float32)) for i in n.input[1:3]] for n in graph.node if n.op_type == 'Conv']


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('file')
    wants_pictures(ap)
    ap.add_argument('--out', required=True)
    A = ap.parse_args()
    net = Eye().eval()
    convs, pairs = packed(A.file), list(layers(net))
    assert len(convs) == len(pairs), (len(convs), len(pairs))
    with torch.no_grad():
        for (conv, norm), (w, b) in zip(pairs, convs):
            assert conv.weight.shape == w.shape, (conv, w.shape)
            conv.weight.copy_(w)
            if norm is None:
                conv.bias.copy_(b)
            else:
                norm.running_mean.zero_()
                norm.running_var.fill_(1 - norm.eps)
                norm.weight.fill_(1)
                norm.bias.copy_(b)
        x = list(pictures(A, 'cpu'))
        seen = {}

        def look(norm):
            def hook(_, inputs):
                v = inputs[0].double()
                n, s, q = seen.get(norm, (0, 0, 0))
                seen[norm] = (n + v.numel() / v.shape[1], s + v.sum((0, 2, 3)), q + (v * v).sum((0, 2, 3)))

            return hook

        hooks = [norm.register_forward_pre_hook(look(norm)) for _, norm in pairs if norm is not None]
        before = [torch.sigmoid(net(q)) for q in x]
        for h in hooks:
            h.remove()
        for norm, (n, s, q) in seen.items():
            mean = s / n
            var = (q / n - mean**2).clamp(min=1e-6)
            norm.weight.copy_((var + norm.eps).sqrt())
            norm.bias.add_(mean.float())
            norm.running_mean.copy_(mean)
            norm.running_var.copy_(var)
        save(net.state_dict(), A.out)
        for mode in (False, True):
            far = [(torch.sigmoid(net.train(mode)(q)) - p).abs() for q, p in zip(x, before)]
            print(f'{len(x)} batches, {"as in training" if mode else "as the program runs it"}: maps differ by', float(torch.stack([f.mean() for f in far]).mean()), 'on the mean, at most', float(max(f.max() for f in far)))


if __name__ == '__main__':
    main()
