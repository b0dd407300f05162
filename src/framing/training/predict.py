#!/usr/bin/env python3
"""Maps of one or several networks for folders of pictures: predict.py --weights W.pt... --pictures DIR... --out MAPS.npz

For each picture (key FOLDER/NAME) an array of 2 evaluations (plain, mirrored) x 2 maps (product, room) x 160 x 160, 8 bit; several weights are averaged.
W may also be an .onnx file, run by onnxruntime.
"""

import argparse, glob, os
import numpy as np
from PIL import Image


def runner(path):
    if path.endswith('.onnx'):
        import onnxruntime

        o = onnxruntime.SessionOptions()
        o.intra_op_num_threads = 1
        s = onnxruntime.InferenceSession(path, o, providers=['CPUExecutionProvider'])
        return lambda x: 1 / (1 + np.exp(-np.concatenate([s.run(None, {'rgb': q[None]})[0] for q in x])))
    import torch
    from train import load

    dev = 'cuda' if torch.cuda.is_available() else 'cpu'
    net = load(path, dev).eval()

    def f(x):
        with torch.no_grad():
            return torch.sigmoid(net(torch.from_numpy(x).to(dev))).cpu().numpy()

    return f


def main():
    ap = argparse.ArgumentParser()
    ap.add_argument('--weights', nargs='+', required=True)
    ap.add_argument('--pictures', nargs='+', required=True)
    ap.add_argument('--out', required=True)
    A = ap.parse_args()
    nets = [runner(w) for w in A.weights]
    out = {}
    for d in A.pictures:
        for f in sorted(glob.glob(d + '/images/*')):
            im = Image.open(f).convert('RGB')
            im = im if im.size == (320, 320) else im.resize((320, 320), Image.BILINEAR)
            a = np.asarray(im, np.float32).transpose(2, 0, 1)
            m = sum(n(np.stack([a, a[:, :, ::-1]])) for n in nets) / len(nets)
            m[1] = m[1][..., ::-1]
            out[os.path.basename(os.path.normpath(d)) + '/' + os.path.basename(f).rsplit('.', 1)[0]] = (
                (m * 255).round().astype(np.uint8)
            )
    np.savez_compressed(A.out, **out)


if __name__ == '__main__':
    main()
