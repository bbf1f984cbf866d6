"""From a file to what its camera supports: sealing, tags, capture interval, previews, visits."""

from evidence.photos.camera import CameraReading, ReadBy
from evidence.photos.clock import Capture, CaptureRule, capture
from evidence.photos.codes import CodesRead
from evidence.photos.credentials import Credentials
from evidence.photos.crew import Crew
from evidence.photos.intake import SealedFile, Shelf, check_readable, hold, seal, walk
from evidence.photos.look import Look
from evidence.photos.marks import CardCorners, MarksRead
from evidence.photos.place import Atlas, load_atlas
from evidence.photos.previews import Preview
from evidence.photos.visits import Visit, VisitItem, group
from evidence.photos.whole import refuse_broken, why_broken
from evidence.photos.worker import Worker

__all__ = [
    "Atlas",
    "CameraReading",
    "Capture",
    "CaptureRule",
    "CardCorners",
    "CodesRead",
    "Credentials",
    "Crew",
    "Look",
    "MarksRead",
    "Preview",
    "ReadBy",
    "SealedFile",
    "Shelf",
    "Visit",
    "VisitItem",
    "Worker",
    "capture",
    "check_readable",
    "group",
    "hold",
    "load_atlas",
    "refuse_broken",
    "seal",
    "walk",
    "why_broken",
]
