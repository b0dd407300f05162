#!/usr/bin/env python3
"""Packs a trained network into the file that the program embeds.

  pack.py NETWORK.onnx [--out src/framing/eye]

Writes `weights.onnx` and `weights.blake3` (the file's hash, checked at load). The file stays plain ONNX:
each float32 initialiser of 64 values or more is stored as float16 and followed by a Cast back to float32,
so every runtime reads it and computes in single precision. What does not depend on the photo is computed
here once, paddings become part of their convolutions, and names of the exporter are dropped. Demands of the
interface: input `rgb` 1x3xHxW (0 to 255), output `logits` 1x2xH/2xW/2 (product, beyond the surface).

Needs: onnx, numpy, blake3 (PyPI).
"""
import argparse
import os
import sys

import blake3
import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper
from onnx.reference import ReferenceEvaluator

LIMIT = 8_000_000  # bytes in the repository


def shape(value):
    return [d.dim_value for d in value.type.tensor_type.shape.dim]


def constants(graph):
    """Values of everything that does not depend on the input; their nodes are removed."""
    known = {t.name: numpy_helper.to_array(t) for t in graph.initializer}
    rest = []
    for node in graph.node:
        if all(i == '' or i in known for i in node.input):
            values = ReferenceEvaluator(node).run(None, {i: known[i] for i in node.input if i})
            known.update(zip(node.output, (np.asarray(v) for v in values)))
        else:
            rest.append(node)
    return known, rest


def fold_pads(known, nodes):
    """Zero paddings of height and width move into the convolution that alone reads them."""
    readers = {}
    for node in nodes:
        for i in node.input:
            readers.setdefault(i, []).append(node)
    out = []
    for node in nodes:
        users = readers.get(node.output[0], [])
        if node.op_type == 'Pad' and len(users) == 1 and users[0].op_type == 'Conv':
            mode = [a.s for a in node.attribute if a.name == 'mode']
            value = known[node.input[2]] if len(node.input) > 2 and node.input[2] else np.zeros(1)
            pads = [int(p) for p in known[node.input[1]]]
            plain = mode in ([], [b'constant']) and not np.any(value) and pads[:2] == [0, 0] and pads[4:6] == [0, 0]
            own = [a for a in users[0].attribute if a.name == 'pads']
            if plain and all(p == 0 for a in own for p in a.ints):
                for a in own:
                    users[0].attribute.remove(a)
                users[0].attribute.append(helper.make_attribute('pads', pads[2:4] + pads[6:8]))
                users[0].input[0] = node.input[0]
                continue
        out.append(node)
    return out


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('network')
    ap.add_argument('--out', default=os.path.join(os.path.dirname(os.path.abspath(__file__)), '..', 'eye'))
    args = ap.parse_args()
    model = onnx.load(args.network)
    graph = model.graph
    ends = [(v.name, shape(v)) for v in (graph.input[0], graph.output[0])]
    # Height and width are open (0); the program checks the output's when it looks.
    if ends[0] != ('rgb', [1, 3, 0, 0]) or ends[1][0] != 'logits' or ends[1][1][1] != 2:
        sys.exit(f'not the eye\'s interface: {ends}')

    known, nodes = constants(graph)
    nodes = fold_pads(known, nodes)
    worst, casts, kept = 0.0, [], []
    for name in dict.fromkeys(i for n in nodes for i in n.input if i in known):
        values = known[name]
        if values.dtype != np.float32 or values.size < 64:
            kept.append(numpy_helper.from_array(values, name))
            continue
        if np.abs(values).max() > 65504:
            sys.exit(f'{name} does not fit half precision')
        half = values.astype(np.float16)
        worst = max(worst, float(np.abs(half.astype(np.float32) - values).max() / (np.abs(values).max() + 1e-12)))
        kept.append(numpy_helper.from_array(half, name + '_half'))
        casts.append(helper.make_node('Cast', [name + '_half'], [name], to=TensorProto.FLOAT))
    del graph.initializer[:]
    graph.initializer.extend(kept)
    del graph.node[:]
    graph.node.extend(casts + nodes)
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
