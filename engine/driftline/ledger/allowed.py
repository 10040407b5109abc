"""Settings that may stand in a repository's own configuration: they name no program and lead nowhere else."""

from __future__ import annotations

_ALLOWED = {
    "core": (
        "repositoryformatversion filemode bare logallrefupdates ignorecase precomposeunicode symlinks"
        " autocrlf eol safecrlf sharedrepository compression loosecompression abbrev quotepath untrackedcache"
        " splitindex commitgraph multipackindex preloadindex bigfilethreshold fsync fsyncmethod checkstat"
        " trustctime excludesfile"
    ),
    "user": "name email useconfigonly",
    "author": "name email",
    "committer": "name email",
    "remote": "pushdefault",
    "remote.*": "url pushurl fetch push mirror prune prunetags tagopt",
    "branch.*": "remote merge rebase pushremote description",
    "driftline": "copy",
    "extensions": "objectformat preciousobjects",
    "gc": "auto autopacklimit autodetach pruneexpire reflogexpire reflogexpireunreachable writecommitgraph",
    "maintenance": "auto strategy",
    "pack": "threads window depth windowmemory compression writebitmaps usebitmaps",
    "fetch": "prune fsckobjects writecommitgraph",
    "transfer": "fsckobjects",
    "receive": "fsckobjects denycurrentbranch",
    "pull": "rebase ff",
    "push": "default autosetupremote",
    "init": "defaultbranch",
    "index": "version threads",
    "feature": "manyfiles",
    "color": "ui",
    "column": "ui",
    "log": "date",
    "diff": "renames",
    "gui": "wmstate geometry",
}


def is_allowed(key: str) -> bool:
    """Whether a setting may stand in a repository that came from someone else.

    Examples
    --------
    >>> is_allowed("remote.origin.url"), is_allowed("core.fsmonitor")
    (True, False)
    """
    section, _, rest = key.partition(".")
    _, dot, name = rest.rpartition(".")
    return name.lower() in _ALLOWED.get(section.lower() + (".*" if dot else ""), "").split()
