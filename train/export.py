"""How does the model leave Python? As ONNX with half-precision numbers that are widened where they are used.

    python export.py MODEL.pt OUT.onnx [width]

The arithmetic stays 32-bit; only what is stored is halved. The width of the picture is a free axis unless given.
Beside it goes OUT.norms.npz, the norms that export folds away: with it unfold.py makes a checkpoint again.
"""

import hashlib
import json
import sys

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper

import labels as L
import net
from score import reader
from unfold import norms_of


def halve(m):
    """Every stored 32-bit tensor of 256 numbers or more becomes 16-bit with a Cast behind it."""
    casts, keep = [], []
    for t in list(m.graph.initializer):
        if t.data_type == TensorProto.FLOAT and np.prod(t.dims) >= 256:
            a = numpy_helper.to_array(t)
            h = numpy_helper.from_array(a.astype(np.float16), t.name + "_half")
            keep.append(h)
            casts.append(helper.make_node("Cast", [h.name], [t.name], to=TensorProto.FLOAT))
        else:
            keep.append(t)
    del m.graph.initializer[:]
    m.graph.initializer.extend(keep)
    nodes = casts + list(m.graph.node)
    del m.graph.node[:]
    m.graph.node.extend(nodes)
    return m


def main():
    src, out = sys.argv[1:3]
    width = int(sys.argv[3]) if len(sys.argv) > 3 else 1216
    model = reader(src, "cpu")
    torch.onnx.export(model, torch.rand(1, 1, 240, width), out, opset_version=17, dynamo=False, input_names=["ink"], output_names=["scores"],
                      dynamic_axes={"ink": {3: "width"}, "scores": {1: "frames"}} if len(sys.argv) <= 3 else None)
    m = halve(onnx.load(out))
    onnx.checker.check_model(m)
    onnx.save(m, out)
    vocab = {"main": L.MAIN, "attributes": L.ATTRS, "flags": L.FLAGS, "roads": L.ROADS, "dynamics": L.DYNAMICS, "stride": net.STRIDE,
             "height": 240, "centre_row": 112, "pixels_per_space": 10, "note_positions": [L.POS_MIN, L.POS_MAX]}
    json.dump(vocab, open(out.replace(".onnx", ".vocabulary.json"), "w"), indent=1)
    np.savez_compressed(out.replace(".onnx", ".norms.npz"), **norms_of(model))
    print(out, len(open(out, "rb").read()), hashlib.sha256(open(out, "rb").read()).hexdigest())


if __name__ == "__main__":
    main()
