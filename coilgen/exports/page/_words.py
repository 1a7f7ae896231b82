"""Names of code, units and signs as they are printed."""

import re


def words(name: str) -> str:
    """A name of code as words.

    >>> words("resistance_20c"), words("trace_length")
    ('resistance at 20 °C', 'trace length')
    >>> words("torque_ripple")  # of thrust too
    'ripple'
    """
    return name.replace("_20c", " at 20 °C").replace("torque_ripple", "ripple").replace("_", " ")


def typeset(text: str) -> str:
    """Units and signs as they are printed.

    >>> typeset("at -20 degC, barrels of 20 um")
    'at −20 °C, barrels of 20 µm'
    """
    text = re.sub(r"(?<![\w-])-(?=\d)", "−", text)
    return re.sub(r"(?<=\d )(degC|um)\b", lambda unit: {"degC": "°C", "um": "µm"}[unit[0]], text)
