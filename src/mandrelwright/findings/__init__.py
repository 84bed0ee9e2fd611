"""Every sentence the program can tell its user, one module per step."""

from mandrelwright.findings.finding import Finding, Level

__all__ = ["Finding", "Level"]
