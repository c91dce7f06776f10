"""Does a network come back from what export leaves of it?"""

import os
import sys

import pytest

torch = pytest.importorskip("torch")
pytest.importorskip("onnx")
sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
import net  # noqa: E402
import unfold  # noqa: E402


def small(seed):
    torch.manual_seed(seed)
    m = net.Reader(widths=(4, 6, 8, 8), blocks=(1, 1, 1), d=32, layers=1).eval()
    for _, n in unfold.pairs(m):
        b = m.get_submodule(n)
        for t, lo, hi in ((b.running_mean, -1, 1), (b.running_var, .1, 2), (b.weight.data, .3, 1.5), (b.bias.data, -1, 1)):
            t.uniform_(lo, hi)
        # Gains of either sign, none near nothing: a filter that its norm has silenced is not brought back at its old length.
        b.weight.data *= torch.where(torch.rand_like(b.weight) < .5, -1.0, 1.0)
    return m


def fold(m):
    """What export does: gain and mean go into the convolution and its bias; the norm that is left does nothing but add the bias."""
    for c, n in unfold.pairs(m):
        conv, b = m.get_submodule(c), m.get_submodule(n)
        g = (b.weight / torch.sqrt(b.running_var + b.eps)).detach()
        conv.weight.data *= g.view(-1, 1, 1, 1)
        b.bias.data -= b.running_mean * g
        b.running_mean.zero_()
        b.running_var.fill_(1)
        b.weight.data.fill_((1 + b.eps) ** .5)
    return m


@pytest.mark.parametrize("kept", [True, False])
def test_unfolding_gives_the_same_answers(kept):
    x = (torch.rand(2, 1, 240, 64) < .1).float()
    m = small(3)
    norms = unfold.norms_of(m)
    if not kept:
        norms = {k: v for k, v in norms.items() if not k.endswith(".scale")}
    before = {k: v.clone() for k, v in m.state_dict().items()}
    with torch.no_grad():
        want = m(x)
        bare = fold(m)(x)
        got = unfold.unfold(m, norms)(x)
    assert (bare - want).abs().max() < 1e-3
    assert (got - want).abs().max() < 1e-3
    if kept:
        # With the norms kept, every number is what it was, so learning goes on as if nothing had been exported.
        for k, v in m.state_dict().items():
            assert torch.allclose(v.float(), before[k].float(), atol=2e-3), k


def test_measured_statistics_make_a_batch_look_as_in_use():
    m = fold(small(5))
    x = (torch.rand(24, 1, 240, 96) < .1).float()
    with torch.no_grad():
        want = m(x)
        unfold.unfold(m, unfold.measure(m, x))
        assert (m(x) - want).abs().max() < 1e-3
        m.train()
        for q in m.modules():
            if isinstance(q, torch.nn.Dropout):
                q.p = 0.0
        # The batch's own statistics are those measured.
        assert (m(x) - want).abs().max() < 2e-2
