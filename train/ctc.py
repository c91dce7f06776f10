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


KERNEL = r"""
extern "C" __global__ void lattice(const float* x, const unsigned char* skip, const long long* len, float* al, float* be,
                                   int B, int T, int S) {
    extern __shared__ float sh[];
    float* p = sh;
    float* q = sh + S + 2;
    int b = blockIdx.x % B, s = threadIdx.x;
    bool back = blockIdx.x >= B;
    int end = 2 * (int)len[b];
    const float NEG = -1e5f;
    const float* xb = x + (size_t)b * T * S;
    float* out = (back ? be : al) + (size_t)b * T * S;
    for (int i = s; i < 2 * (S + 2); i += blockDim.x) sh[i] = NEG;
    __syncthreads();
    bool live = s < S && s <= end;
    bool sk = false;
    if (live) sk = back ? (s + 2 <= end && skip[(size_t)b * S + s + 2]) : skip[(size_t)b * S + s];
    int t0 = back ? T - 1 : 0;
    int at = back ? s : s + 2;
    if (s < S) {
        float v = NEG;
        if (live && (back ? (s >= end - 1) : (s <= 1))) v = xb[(size_t)t0 * S + s];
        p[at] = v;
        out[(size_t)t0 * S + s] = v;
    }
    __syncthreads();
    for (int k = 1; k < T; k++) {
        int t = back ? T - 1 - k : k;
        if (s < S) {
            float v = NEG;
            if (live) {
                float a0 = p[at], a1 = back ? p[at + 1] : p[at - 1], a2 = NEG;
                if (sk) a2 = back ? p[at + 2] : p[at - 2];
                float m = fmaxf(a0, fmaxf(a1, a2));
                v = m + __logf(__expf(a0 - m) + __expf(a1 - m) + __expf(a2 - m)) + xb[(size_t)t * S + s];
                v = fmaxf(v, NEG);
            }
            q[at] = v;
            out[(size_t)t * S + s] = v;
        }
        __syncthreads();
        float* z = p; p = q; q = z;
    }
}
"""
_KERNEL = None


def lattice_gpu(x, skip, lengths):
    """Forward and backward variables by one small kernel, a block for each sequence and direction."""
    global _KERNEL
    import cupy
    if _KERNEL is None:
        _KERNEL = cupy.RawKernel(KERNEL, "lattice")
    B, T, S = x.shape
    al, be = torch.empty_like(x), torch.empty_like(x)
    sk = skip.to(torch.uint8).contiguous()
    ln = lengths.contiguous()
    with cupy.cuda.Device(x.device.index or 0), cupy.cuda.ExternalStream(torch.cuda.current_stream().cuda_stream):
        _KERNEL((2 * B,), (-(-S // 32) * 32,), (x.data_ptr(), sk.data_ptr(), ln.data_ptr(), al.data_ptr(), be.data_ptr(),
                                               cupy.int32(B), cupy.int32(T), cupy.int32(S)), shared_mem=8 * (S + 2))
    return al, be


def lattice(x, skip, lengths):
    """The same in plain torch, step by step: the slow twin, used on the CPU and in tests."""
    B, T, S = x.shape
    s = torch.arange(S, device=x.device)
    ends = 2 * lengths[:, None]
    K = torch.where(skip, 0.0, NEG)
    pad = torch.nn.functional.pad
    a = torch.where((s[None] <= 1) & (s[None] <= ends), x[:, 0], NEG)
    al, be = [a], []
    for t in range(1, T):
        p = pad(a, (2, 0), value=NEG)
        a = torch.logaddexp(torch.logaddexp(p[:, 2:], p[:, 1:-1]), p[:, :-2] + K) + x[:, t]
        a = a.clamp(min=NEG)
        al.append(a)
    Kb = pad(K, (0, 2), value=NEG)[:, 2:]
    b = torch.where((s[None] >= ends - 1) & (s[None] <= ends), x[:, -1], NEG)
    be.append(b)
    for t in range(T - 2, -1, -1):
        p = pad(b, (0, 2), value=NEG)
        b = torch.logaddexp(torch.logaddexp(p[:, :-2], p[:, 1:-1]), p[:, 2:] + Kb) + x[:, t]
        b = torch.where(s[None] <= ends, b, NEG).clamp(min=NEG)
        be.append(b)
    return torch.stack(al, 1), torch.stack(be[::-1], 1)


def posteriors(emit, blank, same, lengths, guide=None):
    """emit [B, T, L], blank [B, T], same [B, L] (event has the same main symbol as the one before),
    lengths [B] events → (gamma [B, T, L], gamma_blank [B, T], log-likelihood [B])."""
    B, T, Lm = emit.shape
    S = 2 * Lm + 1
    e = emit if guide is None else emit + guide
    x = torch.empty((B, T, S), device=emit.device)
    x[:, :, 0::2] = blank[:, :, None]
    x[:, :, 1::2] = e
    ends = 2 * lengths
    valid = torch.arange(S, device=emit.device)[None] <= ends[:, None]
    x.masked_fill_(~valid[:, None], NEG)
    skip = torch.zeros(B, S, dtype=torch.bool, device=emit.device)
    skip[:, 3::2] = ~same[:, 1:]
    al, be = (lattice_gpu if x.is_cuda else lattice)(x, skip, lengths)
    last = al[:, -1]
    ll = torch.logaddexp(last.gather(1, ends[:, None])[:, 0], last.gather(1, (ends - 1).clamp(min=0)[:, None])[:, 0])
    ll = torch.where(lengths > 0, ll, last[:, 0])
    g = (al + be - x - ll[:, None, None]).clamp(max=0).exp().masked_fill(~valid[:, None], 0)
    return g[:, :, 1::2], g[:, :, 0::2].sum(2), ll


def loss(emit, blank, same, lengths, guide):
    """Mean over events of the guided negative log-likelihood's surrogate (its gradient is exact), and the likelihood."""
    with torch.no_grad():
        g, gb, ll = posteriors(emit.detach().float(), blank.detach().float(), same, lengths, guide)
        # An alignment that cannot be (more events than frames) is left out.
        ok = (ll > NEG / 10).float()
        g, gb = g * ok[:, None, None], gb * ok[:, None]
    n = (lengths * ok).sum().clamp(min=1)
    return -((g * emit).sum() + (gb * blank).sum()) / n, ll
