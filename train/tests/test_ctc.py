"""The alignment arithmetic against torch's own CTC loss and against brute force."""

import os
import sys

import pytest

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
torch = pytest.importorskip("torch")
import ctc  # noqa: E402


def plain(logp, labels):
    """Emissions for single-symbol labels, as torch.nn.functional.ctc_loss takes them."""
    emit = logp[:, :, :].gather(2, labels[:, None].expand(-1, logp.shape[1], -1))
    same = torch.zeros_like(labels, dtype=torch.bool)
    same[:, 1:] = labels[:, 1:] == labels[:, :-1]
    return emit, logp[:, :, 0], same


def test_likelihood_and_gradient_agree_with_torch():
    torch.manual_seed(3)
    B, T, V, Lm = 5, 30, 7, 9
    x = torch.randn(B, T, V, dtype=torch.double, requires_grad=True)
    labels = torch.randint(1, V, (B, Lm))
    lengths = torch.tensor([9, 5, 1, 7, 3])
    want = torch.nn.functional.ctc_loss(x.log_softmax(-1).transpose(0, 1), labels, torch.full((B,), T), lengths, reduction="none")
    want.sum().backward()
    gw = x.grad.clone()
    x.grad = None
    emit, blank, same = plain(x.log_softmax(-1), labels)
    mask = torch.arange(Lm)[None] < lengths[:, None]
    s, ll = ctc.loss(emit.float() * 1.0, blank.float(), same, lengths, torch.zeros(B, T, Lm))
    assert torch.allclose(-ll.double(), want.detach(), rtol=1e-4)
    (s * lengths.sum()).backward()
    assert (x.grad - gw).abs().max() < 1e-4
    assert mask.any()


def test_an_empty_stream_is_all_blank():
    logp = torch.randn(2, 12, 4).log_softmax(-1)
    g, gb, ll = ctc.posteriors(logp[:, :, 1:3], logp[:, :, 0], torch.zeros(2, 2, dtype=torch.bool), torch.tensor([0, 1]))
    assert torch.allclose(ll[0], logp[0, :, 0].sum(), atol=1e-4)
    assert torch.allclose(gb[0], torch.ones(12), atol=1e-4)
    assert g[0].sum() == 0
