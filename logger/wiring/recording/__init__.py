"""A live drive: microphone, receiver, recogniser, read-back and store at work together."""
