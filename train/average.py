"""What lies midway between two checkpoints of one run? Their numbers averaged, one by one.

    python average.py A.pt B.pt OUT.pt
"""

import sys

import torch


def main():
    a, b = (torch.load(p, map_location="cpu", weights_only=False) for p in sys.argv[1:3])
    if a["config"] != b["config"]:
        raise SystemExit("the two networks differ")
    for k, x in a["model"].items():
        if x.dtype.is_floating_point:
            a["model"][k] = ((x.float() + b["model"][k].float()) / 2).half()
    torch.save(a, sys.argv[3])


if __name__ == "__main__":
    main()
