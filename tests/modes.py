"""Modes of files bind everybody but root; a child of root's may be bound by them too."""

from __future__ import annotations

import os


def bound_by_modes() -> list[str]:
    """What stands before a command so that it may read and write only what modes allow.

    Root goes on as root, without the right to pass them over: as another user it could not
    enter the folders that this clone may lie in.
    """
    if os.geteuid() != 0:
        return []
    return ["setpriv", "--bounding-set=-dac_override,-dac_read_search", "--"]
