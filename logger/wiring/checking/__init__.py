"""Looking at everything that a drive needs; `logger.core.fitness` judges what is measured here."""
