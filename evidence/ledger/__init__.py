"""The record itself: an append-only chain of entries under signed heads. It knows nothing of roofs.

canonical  one spelling of JSON          tree    the Merkle tree and its proofs
log        the chain of entries          notes   signed notes and their keys
heads      signed heads                  keys    private keys on disk, and one on paper
store      all of it in one SQLite file
"""

from evidence.ledger.canonical import JSONValue, dumps, loads, parse
from evidence.ledger.heads import Head, origin_of, sign_head
from evidence.ledger.keys import KeyPair, KeyStore
from evidence.ledger.log import (
    GENESIS_PREV,
    START,
    ChainFault,
    Link,
    Tip,
    entry_sha256,
    seal,
    verify_chain,
)
from evidence.ledger.low_order import refuse_low_order
from evidence.ledger.notes import (
    NoteSignature,
    NoteVerifier,
    SignedNote,
    Signer,
    Verifier,
    open_note,
)
from evidence.ledger.recovery import RecoveryKey
from evidence.ledger.store import Appended, Contents, Store
from evidence.ledger.strict import b64decode_strict, b64encode, decimal_strict
from evidence.ledger.tree import (
    Frontier,
    Tree,
    check_consistency,
    check_inclusion,
    consistency_proof,
    inclusion_proof,
    leaf_hash,
    node_hash,
    tree_root,
    tree_roots,
)
from evidence.ledger.vkeys import key_id

__all__ = [
    "GENESIS_PREV",
    "START",
    "Appended",
    "ChainFault",
    "Contents",
    "Frontier",
    "Head",
    "JSONValue",
    "KeyPair",
    "KeyStore",
    "Link",
    "NoteSignature",
    "NoteVerifier",
    "RecoveryKey",
    "SignedNote",
    "Signer",
    "Store",
    "Tip",
    "Tree",
    "Verifier",
    "b64decode_strict",
    "b64encode",
    "check_consistency",
    "check_inclusion",
    "consistency_proof",
    "decimal_strict",
    "dumps",
    "entry_sha256",
    "inclusion_proof",
    "key_id",
    "leaf_hash",
    "loads",
    "node_hash",
    "open_note",
    "origin_of",
    "parse",
    "refuse_low_order",
    "seal",
    "sign_head",
    "tree_root",
    "tree_roots",
    "verify_chain",
]
