#!/usr/bin/env python3
"""Packs a trained network into the file that the program embeds.

  pack.py NETWORK.onnx [--out src/framing/eye]

Writes `weights.onnx` and `weights.blake3` (the file's hash, checked at load). The file stays plain ONNX:
each float32 initialiser of 64 values or more is stored as float16 and followed by a Cast back to float32,
so every runtime reads it and computes in single precision. Unused nodes and names of the exporter are
dropped. Demands of the interface: input `rgb` 1x3x320x320 (0 to 255), output `logits` 1x2x160x160
(product, beyond the surface).

Needs: onnx, numpy, blake3 (PyPI).
"""
import argparse
import os
import sys

import blake3
import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

LIMIT = 8_000_000  # bytes in the repository


def shape(value):
    return [d.dim_value for d in value.type.tensor_type.shape.dim]


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('network')
    ap.add_argument('--out', default=os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', 'eye'))
    args = ap.parse_args()
    model = onnx.load(args.network)
    graph = model.graph
    ends = [(v.name, shape(v)) for v in (graph.input[0], graph.output[0])]
    # An exporter may leave the output's height and width open; the program checks them when it looks.
    if ends[0] != ('rgb', [1, 3, 320, 320]) or ends[1][0] != 'logits' or ends[1][1][1] != 2:
        sys.exit(f'not the eye\'s interface: {ends}')

    worst, casts, kept = 0.0, [], []
    for tensor in graph.initializer:
        values = numpy_helper.to_array(tensor)
        if values.dtype != np.float32 or values.size < 64:
            kept.append(tensor)
            continue
        if np.abs(values).max() > 65504:
            sys.exit(f'{tensor.name} does not fit half precision')
        half = values.astype(np.float16)
        worst = max(worst, float(np.abs(half.astype(np.float32) - values).max() / (np.abs(values).max() + 1e-12)))
        name = tensor.name + '_half'
        kept.append(numpy_helper.from_array(half, name))
        casts.append(helper.make_node('Cast', [name], [tensor.name], to=TensorProto.FLOAT))
    del graph.initializer[:]
    graph.initializer.extend(kept)
    nodes = casts + list(graph.node)
    del graph.node[:]
    graph.node.extend(nodes)
    del graph.value_info[:]
    for node in graph.node:
        node.ClearField('name')
        node.ClearField('doc_string')
        del node.metadata_props[:]
    model.ClearField('producer_version')
    onnx.checker.check_model(model)

    data = model.SerializeToString(deterministic=True)
    if len(data) > LIMIT:
        sys.exit(f'{len(data)} bytes are over {LIMIT}')
    digest = blake3.blake3(data).hexdigest()
    with open(os.path.join(args.out, 'weights.onnx'), 'wb') as f:
        f.write(data)
    with open(os.path.join(args.out, 'weights.blake3'), 'w') as f:
        f.write(digest + '\n')
    print(f'{len(data)} bytes, blake3 {digest}, worst rounding {worst:.1e} of a tensor\'s largest value')


if __name__ == '__main__':
    main()
