"""A detached signature by a tool and a key that the user has: ssh-keygen or gpg.

No key is ever read, made or kept here; the tool is called with the key's name and the file.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lotscreen.records import InputError, OutputError
from lotscreen.words import say

NAMESPACE = "lotscreen"
_GPG = "gpg:"
_SECONDS = 120


@dataclass(frozen=True, slots=True)
class Signature:
    """What a check of a signature found: the file, whether it holds, by whom or why not."""

    file: str
    holds: bool
    told: str


def sign(path: Path, key: str) -> Path:
    """The signature beside ``path``, by ``key``: a private key file, or ``gpg:NAME``.

    OutputError where the tool is missing or refuses.
    """
    if key.startswith(_GPG):
        signature = path.with_name(path.name + ".asc")
        command = ["gpg", "--batch", "--yes", "--armor", "--local-user", key.removeprefix(_GPG),
                   "--output", str(signature), "--detach-sign", str(path)]  # fmt: skip
    else:
        signature = path.with_name(path.name + ".sig")
        signature.unlink(missing_ok=True)  # the tool asks before it writes over one
        command = ["ssh-keygen", "-q", "-Y", "sign", "-f", key, "-n", NAMESPACE, str(path)]
    status, told = _run(command, None)
    if status != 0 or not signature.exists():
        raise OutputError(say("issuing.sign.failed", tool=command[0], why=told))
    return signature


def signature_of(path: Path, signers: Path | None) -> Signature | None:
    """The check of the signature beside ``path``; None where there is none.

    InputError where one made by ssh-keygen needs ``signers`` and there are none.
    """
    by_gpg, by_ssh = path.with_name(path.name + ".asc"), path.with_name(path.name + ".sig")
    if by_gpg.exists():
        status, told = _run(["gpg", "--batch", "--verify", str(by_gpg), str(path)], None)
        return Signature(by_gpg.name, status == 0, told)
    if not by_ssh.exists():
        return None
    if signers is None:
        raise InputError(say("issuing.sign.needs_signers"))
    found, who = _run(
        ["ssh-keygen", "-Y", "find-principals", "-s", str(by_ssh), "-f", str(signers)], None
    )
    if found != 0:
        return Signature(by_ssh.name, False, who)
    status, told = _run(
        ["ssh-keygen", "-Y", "verify", "-f", str(signers), "-I", who, "-n", NAMESPACE,
         "-s", str(by_ssh)], path.read_bytes(),
    )  # fmt: skip
    return Signature(by_ssh.name, status == 0, who if status == 0 else told)


def _run(command: Sequence[str], given: bytes | None) -> tuple[int, str]:
    """Exit status and the last line told; OutputError where there is no such tool, or it
    does not end."""
    if shutil.which(command[0]) is None:
        raise OutputError(say("issuing.sign.no_tool", tool=command[0]))
    try:
        run = subprocess.run(
            command, input=given, capture_output=True, timeout=_SECONDS, check=False
        )
    except subprocess.TimeoutExpired as error:
        told = say("issuing.sign.slow", tool=command[0], seconds=_SECONDS)
        raise OutputError(told) from error
    told = (run.stdout + run.stderr).decode("utf-8", "replace").strip()
    return run.returncode, told.splitlines()[-1] if told else ""
