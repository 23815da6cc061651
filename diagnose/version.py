"""The program's version, said once for everything that writes it down."""

__all__ = ["__version__"]

__version__ = "0.1.0"
