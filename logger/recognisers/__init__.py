"""Recognisers behind one protocol: PocketSphinx, Vosk, and one that is told what was said."""
