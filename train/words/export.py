"""How do finder and speller leave Python? As ONNX, half-precision numbers widened where they are used (`../export.py`).

    python words/export.py OUT/words.pt FOLDER      writes finder.onnx, speller.onnx and words.vocabulary.json
"""

import hashlib
import json
import os
import sys

import torch

sys.path[:0] = [os.path.dirname(os.path.abspath(__file__)), os.path.dirname(os.path.dirname(os.path.abspath(__file__)))]

import nets  # noqa: E402
import vocabulary  # noqa: E402


def main():
    import importlib.util

    import onnx
    spec = importlib.util.spec_from_file_location("reader_export", os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "export.py"))
    src, out = sys.argv[1:3]
    got = torch.load(src, map_location="cpu")
    for cls, name, shape in ((nets.Finder, "finder", (1, 1, 240, 1024)), (nets.Speller, "speller", (1, 1, nets.ROWS, 320))):
        m = cls().eval()
        m.load_state_dict({n: v.float() if v.dtype.is_floating_point else v for n, v in got[name].items()})
        path = os.path.join(out, name + ".onnx")
        axes = {"ink": {3: "width"}, "scores": {3 if name == "finder" else 1: "frames"}}
        torch.onnx.export(m, torch.rand(*shape), path, opset_version=17, dynamo=False, input_names=["ink"], output_names=["scores"], dynamic_axes=axes)
        x = onnx.load(path)
        reader = importlib.util.module_from_spec(spec)
        sys.modules.pop("score", None)
        sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
        spec.loader.exec_module(reader)
        x = reader.halve(x)
        onnx.checker.check_model(x)
        onnx.save(x, path)
        print(path, os.path.getsize(path), hashlib.sha256(open(path, "rb").read()).hexdigest())
    json.dump({"characters": vocabulary.CHARS, "rows": nets.ROWS, "widest": nets.WIDEST, "most_zoom": nets.MOST_ZOOM, "beside": nets.BESIDE, "over": nets.OVER,
               "heart": nets.HEART}, open(os.path.join(out, "words.vocabulary.json"), "w"), indent=1, ensure_ascii=False)


if __name__ == "__main__":
    main()
