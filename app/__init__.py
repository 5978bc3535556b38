"""What the person sees and keeps: the job, its files, its prints, the window, the command line."""

__version__ = "0.1.0"
