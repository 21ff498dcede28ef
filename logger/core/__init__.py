"""Pure functions on the records: no files, clocks, devices, SQL or printing."""
