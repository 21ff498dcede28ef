"""Whether all is fit for a drive: what was measured, judged. Pure; `logger.wiring.checking` measures."""
