"""From a payment register to numbered multipart cheques, every number accounted for."""

__version__ = "0.1.0"
