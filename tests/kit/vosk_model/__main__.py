"""Trains a network in a process of its own: `python -m vosk_model OUT.npz`, the vocabulary on stdin."""

from __future__ import annotations

import sys
from pathlib import Path

from vosk_model.build import save
from vosk_model.training import train_network

save(train_network(sys.stdin.read().split()), Path(sys.argv[1]))
