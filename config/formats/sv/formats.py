"""Swedish has no comma after the weekday and small letters in a month's short name: "torsdag 26 november", "26 nov".

Each format that the sources use is a name in this module: see the German one.
"""

AS_IN_SOURCES = (
    "M",
    "M Y",
    "j M",
    "j M H:i",
    "j M Y H:i",
    "j M y",
    "j M, H:i",
    "l, j F",
)
globals().update({form: form.replace("l, j", "l j").replace("M", "b") for form in AS_IN_SOURCES})
