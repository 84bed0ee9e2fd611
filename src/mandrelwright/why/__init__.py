"""Why a result is what it is: back to inputs, equations and sources, told by the records."""

from mandrelwright.why.explanation import Explanation, text_lines, to_dict
from mandrelwright.why.walk import UnknownNameError, explain, names

__all__ = ["Explanation", "UnknownNameError", "explain", "names", "text_lines", "to_dict"]
