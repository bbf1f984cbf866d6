"""What is told of a picture's Content Credentials, in words: integrity and trust are two facts."""

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.photos import Credentials
from evidence.photos.credentials import Held


def credentials_words(told: Credentials) -> str:
    """The two facts, then what the manifest says of itself; why it was not read, where so."""
    if told.integrity is None or told.trust is None:
        key = "elsewhere" if told.held is Held.ELSEWHERE else "not_read"
        return _said(key, why=told.why or "")
    facts = [_said(told.integrity, codes=", ".join(told.of_bytes)), _said(told.trust)]
    if told.of_signer:
        facts.append(_said("of_signer", codes=", ".join(told.of_signer)))
    if told.signer is not None:
        facts.append(_said("signer", signer=say.clipped(told.signer).rstrip(".")))
    if told.signed is not None:
        facts.append(_said("signed", signed=say.clipped(told.signed)))
    if told.made_by is not None:
        facts.append(_said("made_by", made_by=say.clipped(told.made_by).rstrip(".")))
    if told.actions:
        facts.append(_said("actions", actions=", ".join(told.actions)))
    return " ".join(facts)


def _said(key: str, /, **figures: str) -> str:
    return wording("photos").say("credentials", key, **figures)
