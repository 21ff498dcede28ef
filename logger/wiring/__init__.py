"""What joins the adapters into the jobs that a command does."""
