"""What lies between two checkpoints of one run? Their numbers averaged, one by one.

    python average.py A.pt B.pt OUT.pt [SHARE]      SHARE of B, from 0 to 1; midway unless given
"""

import sys

import torch


def main():
    a, b = (torch.load(p, map_location="cpu", weights_only=False) for p in sys.argv[1:3])
    share = float(sys.argv[4]) if len(sys.argv) > 4 else .5
    if a["config"] != b["config"]:
        raise SystemExit("the two networks differ")
    for k, x in a["model"].items():
        if x.dtype.is_floating_point:
            a["model"][k] = torch.lerp(x.float(), b["model"][k].float(), share).half()
    torch.save(a, sys.argv[3])


if __name__ == "__main__":
    main()
