"""How much time and memory did one run of a program take?

A small helper process that starts programs on request and reports what the
kernel measured. It is kept tiny on purpose: on Linux a child's peak memory
starts from its parent's, so a measurement made from a large Python process
would be that process's own.

Reads one JSON request a line ({"argv", "out", "err", "limit"}), answers one
JSON line ({"status", "signal", "timed_out", "seconds", "cpu", "rss_kib"}).

Source: getrusage(2), wait4(2): ru_utime + ru_stime in seconds, ru_maxrss in KiB.
"""

import json
import os
import signal
import sys
import time


def measure(request: dict) -> dict:
    """Run one program to its end or its limit (seconds)."""
    # Emptied before the clock starts: what the last run left there is no work of this one.
    write = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
    opened = [os.open(os.devnull, os.O_RDONLY), *(os.open(request[name], write, 0o600) for name in ("out", "err"))]
    actions = [(os.POSIX_SPAWN_DUP2, file, number) for number, file in enumerate(opened)]
    started = time.perf_counter()
    child = os.posix_spawn(request["argv"][0], request["argv"], os.environ, file_actions=actions)
    timed_out = False

    def stop(_signal, _frame):
        nonlocal timed_out
        timed_out = True
        os.kill(child, signal.SIGKILL)

    signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, request["limit"])
    _pid, wait_status, usage = os.wait4(child, 0)
    seconds = time.perf_counter() - started
    signal.setitimer(signal.ITIMER_REAL, 0)
    for file in opened:
        os.close(file)
    return {
        "status": os.waitstatus_to_exitcode(wait_status),
        "timed_out": timed_out,
        "seconds": seconds,
        "cpu": usage.ru_utime + usage.ru_stime,
        "rss_kib": usage.ru_maxrss,
    }


for line in sys.stdin:
    print(json.dumps(measure(json.loads(line))), flush=True)
