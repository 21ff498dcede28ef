"""Sound files in, clips out: libsndfile and soxr behind our own records."""
