"""Tables that few design files have: their models are built when a file has them."""

from functools import cache
from typing import Any, get_args

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler, TypeAdapter
from pydantic_core import CoreSchema, core_schema

from coilgen.design.keys import Json


class WhenGiven:
    """Marks a field of models that are built when it is given, as building them takes longer than reading."""

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            lambda given: _adapter(source).validate_python(given), metadata={"table": source}
        )

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        inner: Any = core
        while "table" not in inner.get("metadata", {}):  # below what a model's own validators wrap around it
            inner = inner["schema"]
        return handler(_adapter(inner["metadata"]["table"]).core_schema)


@cache
def _adapter(source: Any) -> TypeAdapter[Any]:
    """What reads the table, or the list of them."""
    for kind in (source, *get_args(source)):
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            kind.model_rebuild()  # else pydantic 2.10 could not write it
    return TypeAdapter(source)
