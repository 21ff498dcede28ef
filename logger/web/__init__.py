"""A page served from this machine to this machine: HTTP behind our own records, by way of Werkzeug and waitress."""
