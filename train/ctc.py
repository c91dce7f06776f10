"""How are events laid against frames? Connectionist temporal classification over the joint
probability of each event, guided by where the engraver put it.

Source: Graves et al., ICML 2006 (forward and backward variables, section 4.1). Differences: an
event's emission is the sum of the log-probabilities of all its answers, and alignments far from
the event's known x are made unlikely while training.
The gradient of the negative log-likelihood is -(posterior of each event at each frame), so the
posteriors are found without autograd and used as weights.
"""

import torch

NEG = -1e5


def posteriors(emit, blank, same, lengths, guide=None):
    """emit [B, T, L], blank [B, T], same [B, L] (event has the same main symbol as the one before),
    lengths [B] events → (gamma [B, T, L], gamma_blank [B, T], log-likelihood [B])."""
    B, T, Lm = emit.shape
    S = 2 * Lm + 1
    e = emit if guide is None else emit + guide
    x = torch.full((B, T, S), NEG, device=emit.device)
    x[:, :, 0::2] = blank[:, :, None]
    x[:, :, 1::2] = e
    s_idx = torch.arange(S, device=emit.device)
    ends = 2 * lengths
    valid = s_idx[None] <= ends[:, None]
    x = x.masked_fill(~valid[:, None], NEG)
    skip = torch.zeros(B, S, dtype=torch.bool, device=emit.device)
    skip[:, 3::2] = ~same[:, 1:]
    skip_add = torch.where(skip, 0.0, NEG)
    # Backward variables are forward ones of the mirrored problem: run both at once.
    rev = (ends[:, None] - s_idx[None]).clamp(min=0)
    xr = x.flip(1).gather(2, rev[:, None].expand(B, T, S)).masked_fill(~valid[:, None], NEG)
    sk = torch.zeros(B, S, dtype=torch.bool, device=emit.device)
    # In the mirror, state s may come from s-2 when in the original s' = end - s could go to s' + 2.
    fwd = torch.zeros(B, S + 2, dtype=torch.bool, device=emit.device)
    fwd[:, :S] = skip
    sk = fwd.gather(1, (rev + 2).clamp(max=S + 1)) & valid
    X = torch.cat([x, xr])
    K = torch.cat([skip_add, torch.where(sk, 0.0, NEG)])
    a = torch.full((2 * B, S + 2), NEG, device=emit.device)
    out = torch.empty(T, 2 * B, S, device=emit.device)
    a[:, 2] = X[:, 0, 0]
    if S > 1:
        a[:, 3] = X[:, 0, 1]
    out[0] = a[:, 2:]
    Xt = X.transpose(0, 1).contiguous()
    for t in range(1, T):
        p = a[:, 2:]
        n = torch.logaddexp(torch.logaddexp(p, a[:, 1:-1]), a[:, :-2] + K)
        torch.add(n, Xt[t], out=n)
        n = n.clamp_(min=NEG)
        a = torch.nn.functional.pad(n, (2, 0), value=NEG)
        out[t] = n
    al = out[:, :B].transpose(0, 1)
    be = out[:, B:].flip(0).transpose(0, 1).gather(2, rev[:, None].expand(B, T, S)).masked_fill(~valid[:, None], NEG)
    last = al[:, -1]
    ll = torch.logaddexp(last.gather(1, ends[:, None])[:, 0], last.gather(1, (ends - 1).clamp(min=0)[:, None])[:, 0])
    ll = torch.where(lengths > 0, ll, last[:, 0])
    g = (al + be - x - ll[:, None, None]).clamp(max=0).exp().masked_fill(~valid[:, None], 0)
    return g[:, :, 1::2], g[:, :, 0::2].sum(2), ll


def graphed(fn, args):
    """The same function captured once as a CUDA graph for these shapes."""
    static = [a.clone() for a in args]
    s = torch.cuda.Stream()
    s.wait_stream(torch.cuda.current_stream())
    with torch.cuda.stream(s):
        for _ in range(2):
            fn(*static)
    torch.cuda.current_stream().wait_stream(s)
    g = torch.cuda.CUDAGraph()
    with torch.cuda.graph(g):
        out = fn(*static)

    def run(*a):
        for d, v in zip(static, a):
            d.copy_(v)
        g.replay()
        return [o.clone() for o in out]
    return run


_GRAPHS = {}


def loss(emit, blank, same, lengths, guide, use_graph=False):
    """Mean over events of the guided negative log-likelihood's surrogate (its gradient is exact), and the likelihood."""
    with torch.no_grad():
        args = (emit.detach(), blank.detach(), same, lengths, guide)
        if use_graph:
            k = emit.shape
            if k not in _GRAPHS:
                _GRAPHS[k] = graphed(posteriors, args)
            g, gb, ll = _GRAPHS[k](*args)
        else:
            g, gb, ll = posteriors(*args)
        ok = (ll > NEG / 10).float()
        # An alignment that cannot be (more events than frames) is left out.
        g, gb = g * ok[:, None, None], gb * ok[:, None]
    n = (lengths * ok).sum().clamp(min=1)
    return -((g * emit).sum() + (gb * blank).sum()) / n, ll
