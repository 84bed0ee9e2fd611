"""What the answers to the pages share: strict bodies in, compact JSON out."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field

Short = Annotated[str, Field(max_length=200)]


class Body(BaseModel):
    """What a page sends: no unknown keys, no silent conversion, finite numbers."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


def as_json(data: Any) -> Response:
    """Data as JSON without blanks; raises ValueError for a number that JSON cannot hold."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return Response(text, media_type="application/json")
