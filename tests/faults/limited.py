"""
A command that is given less than it needs: memory, length of files, or the right to write where its user may not.

The limits are set by a small program that then becomes the command. Setting them between fork and exec of the test's own
process would copy that process first, and a test run that has grown may not get the memory for a copy.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path

if sys.platform.startswith("linux"):
    import resource

CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH, PR_CAPBSET_DROP = 1, 2, 24  # linux/capability.h, linux/prctl.h


def limited(
    command: Sequence[str], *, memory: int | None = None, file_size: int | None = None, rights: bool = True
) -> list[str]:
    """
    The command line that runs `command` with less.

    Parameters
    ----------
    command : sequence of str
        Program and arguments.
    memory : int or None
        Most bytes of private memory. (A limit on addresses would refuse libraries theirs.)
    file_size : int or None
        Most bytes a file may have: what a full disk does, and Python ignores the signal that comes with it.
    rights : bool
        False: rights of folders count even for a root user, who otherwise writes anywhere.
    """
    limits = {"memory": memory, "file_size": file_size, "rights": rights}
    return [sys.executable, str(Path(__file__).resolve()), json.dumps(limits), *command]


def _limit(memory: int | None, file_size: int | None, rights: bool) -> None:
    if memory is not None:
        resource.setrlimit(resource.RLIMIT_DATA, (memory, memory))
    if file_size is not None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (file_size, file_size))
    if not rights:
        libc = ctypes.CDLL(None, use_errno=True)
        for capability in (CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH):
            libc.prctl(PR_CAPBSET_DROP, capability, 0, 0, 0)


if __name__ == "__main__":
    _limit(**json.loads(sys.argv[1]))
    os.execv(sys.argv[2], sys.argv[2:])
