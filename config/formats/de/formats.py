"""German puts a dot after the day's number: "26. November 2026"; "14. bis 27. Juni"; "Donnerstag, 26. November, 14:00".

Each format that the sources use is a name in this module, as DATE_FORMAT is: Django looks a format up by its name and
takes it as it stands where it finds none.
"""

AS_IN_SOURCES = (
    "j",
    "j F",
    "j F Y",
    "j F Y, H:i",
    "j F, H:i",
    "j M",
    "j M H:i",
    "j M Y H:i",
    "j M y",
    "j M, H:i",
    "l j F, H:i",
    "l, j F",
)
globals().update({form: form.replace("l j", "l, j").replace("j", "j.") for form in AS_IN_SOURCES})
