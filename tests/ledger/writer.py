"""A process of its own that appends to a ledger and says after each commit what it wrote.

Usage: python writer.py LEDGER COUNT
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from conftest import add

from evidence.ledger import Store

with Store.open(Path(sys.argv[1]), writable=True) as store:
    for _ in range(int(sys.argv[2])):
        print(add(store).seq, flush=True)
