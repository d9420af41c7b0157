"""A work history altered and signed anew throughout by somebody else's key."""

from __future__ import annotations

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from recondition.history import proof, strictly
from recondition.history.folder import HTML, JSON, MANIFEST, PDF, RELEASED
from recondition.history.proof import File
from recondition.history.signing import Signer

OTHER = Ed25519PrivateKey.from_private_bytes(b"another key of thirty-two bytes!")
FOREIGN = Signer(OTHER.public_key().public_bytes_raw(), OTHER.sign)


def signed_anew(files: dict[str, bytes], words: str) -> dict[str, bytes]:
    """Alter a folder and sign every part of it with another key, as a forger would."""
    data = strictly.read(files[JSON].decode())
    old = data.pop("proof")
    del data["seal"]
    records = [each["record"] for each in old["records"]]
    for each in records:
        if each["name"] == "finding/1":
            each["data"]["words"] = words
    evidence = [File(each["path"], files[each["path"]]) for each in old["files"]]
    head = old["head"]
    about = proof.About(
        designation=head["designation"], chassis=head["chassis"], edition=head["edition"],
        made_on=head["made_on"], supersedes=head["supersedes"],
    )  # fmt: skip
    new = proof.proof_of(records, evidence, about, secret=b"own", signer=FOREIGN)
    page = files[HTML].decode()
    for part, value in (("seal", ""), ("proof", strictly.embedded(new))):
        before, mark, rest = page.partition(proof.SCRIPT.format(part))
        page = before + mark + value + rest[rest.index(proof.SCRIPT_END) :]
    made = [
        File(HTML, proof.sealed_html(page, new, FOREIGN).encode()),
        File(PDF, files[PDF]),
        File(JSON, proof.sealed_json(data, new, FOREIGN).encode()),
        File(MANIFEST, proof.manifest_of(new).encode()),
        *evidence,
    ]
    made.append(File(RELEASED, proof.release_of(made, new, FOREIGN).encode()))
    return {file.path: file.content for file in made}
