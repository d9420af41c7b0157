"""Every heading and sentence of the work history, in one place: another language is another.

Verbs of record, no praise. "Original" is never said of a finish without "believed", of a part
only with its evidence beside it. The limits defer to local law and to a lawyer; nothing here is
advice or a warranty. Numbers and dates are written by ``saying``.
"""

from __future__ import annotations

from recondition.condition.findings import Ended, Stage
from recondition.condition.vehicle import OdometerUnit, TrueDistance
from recondition.ledger.lines import Origin

LANGUAGE = "en"
TITLE = "Work history"
NOT_RECORDED = "not recorded"
DAY_NOT_RECORDED = "a day that is not recorded"
NOTHING_TAKEN_OFF = "-"
AS_FOUND = "as found"
UNSEEN_AT_END = "its state at the end was not inspected"
UNNAMED_SHOP = "a shop that gives no name"

IDENTITY = "The vehicle"
CONDITION = "Condition on arrival"
PANELS = "Surfaces, panel by panel"
WORK = "Work done, in order of date"
BEFORE_AFTER = "Findings, before and after"
PARTS = "Parts and where they come from"
LEFT_ALONE = "Left alone on purpose"
REMAINING = "Known remaining faults"
NOT_INSPECTED = "Not inspected"
LIMITS = "What this sheet does not say"
WORDS_USED = "Words used on this sheet"
MADE = "How this sheet was made, and how to check it"
MEASURED = "Measured, before and after"
PICTURES = "Pictures from the same place"
EVIDENCE = "Evidence"
CORRECTIONS = "Corrections and earlier editions"

CONDITION_INTRO = (
    "Each finding keeps its number throughout this sheet. Left and right are as seen by a "
    "person sitting in the vehicle and facing forward."
)
BEFORE_AFTER_INTRO = (
    "Severity as found and as it stands on the date of this sheet, in words and on a scale that "
    "runs from none on the left to damage on the right: the ring is as found, the dot is as it "
    "stands. An earlier outcome that said something else is shown under the one in force."
)
WORK_INTRO = (
    "Materials are given by their generic type. An entry made more than seven days after the "
    "event shows the day it was recorded as well."
)
PANELS_INTRO = "What is said about a finish is belief unless the evidence beside it shows more."
LEFT_ALONE_INTRO = "Found, considered and deliberately not worked on."
REMAINING_INTRO = (
    "Faults that are known to be on the vehicle on the date of this sheet, those left alone on "
    "purpose among them. A fault that nobody has looked for is not on this list."
)
NOT_INSPECTED_INTRO = (
    "Nobody has looked at these, or nobody could. That is not the same as having looked and found "
    "no fault."
)

NO_PANELS = "No panel's surface has been recorded."
NO_FINDINGS = "No finding has been recorded. That does not mean that there was none to make."
NO_WORK = "No work has been recorded."
NO_PARTS = "No part has been recorded as fitted."
NO_LEFT_ALONE = "Nothing has been recorded as left alone on purpose."
NO_REMAINING = "None is known. That is not a statement that there is none."
NO_NOT_INSPECTED = (
    "No place has been recorded as not inspected. What the findings do not mention has not "
    "been recorded as inspected either."
)
FOUND_LATER = "Found during or after the work"

LIMITS_TEXT = (
    (
        "This sheet comes from a cosmetic inspection and cosmetic work. It makes no statement "
        "about safety or roadworthiness, and it does not replace an examination by somebody "
        "qualified."
    ),
    (
        "It records what was seen, measured and done with the means at hand. Parts that were not "
        "opened up or taken off were not seen."
    ),
    (
        "Where a finish or a part is called believed original, that is a belief; the evidence for "
        "it, where there is any, stands beside it."
    ),
    (
        "A description binds the person who gives it, and so can leaving something out. Words such "
        "as 'as seen' do not excuse a wrong or missing statement everywhere, nor take away rights "
        "that the law gives a buyer."
    ),
    (
        "The odometer is given as its wheels show it, with what is known about the distance. Many "
        "places have their own rules for statements about it, some with exceptions for old "
        "vehicles."
    ),
    (
        "What all this means for a sale differs from place to place: the law there decides, and a "
        "lawyer there can say. Nothing on this sheet is a warranty or legal advice."
    ),
)

# Names of facts and columns.
NAMES = {
    "designation": "Designation",
    "model_year": "Year",
    "body_style": "Body style",
    "colour": "Colour",
    "trim": "Trim",
    "chassis_stamped": "Chassis number as stamped",
    "chassis_documents": "Chassis number on the documents",
    "engine_number": "Engine number as stamped",
    "body_number": "Body number as stamped",
    "odometer": "Odometer as shown",
    "care": "In whose care",
}
DIFFER = "The two differ."
SAME_ON_PAPER = "The documents show the same."
NOT_COMPARED = "The documents were not compared."
NO_TOUCH = "Not to be touched: recorded as such."
NO_EVIDENCE = "no evidence recorded"
NO_REASON = "no reason recorded"
BELIEVED_RETAINED = "believed original, retained"
WITH_EVIDENCE = "original, retained"
ANOTHER_SHOP = "another shop"
OWN_PEOPLE = "people of the shop"
AND_OTHERS = "others of the shop"
WHOLE_VEHICLE = "Whole vehicle"
A_PART = "a part"
NOT_ON_VEHICLE = "not on the vehicle"
RESULT_OPEN = "result not yet recorded"
NOT_WORKED_ON = "not worked on"
NOTHING_TO_DO = "nothing to do"
WORKED_ON = "worked on, result not yet recorded"
SUMMARY = {
    "findings": "findings",
    "resolved": "resolved",
    "partly": "partly resolved",
    "left": "left alone on purpose",
    "unseen": "not inspected",
    "open": "without an outcome",
    "remain": "of all these known to remain",
}
WORK_FACTS = {
    "method": "Method",
    "by": "By",
    "hours": "Hours",
    "material": "Material",
    "part": "Part",
    "spoiled": "Spoiled",
    "serves": "For",
    "result": "Result",
    "evidence": "Shown in",
    "note": "Note",
}
HANDS_ON = "h hands-on"

SURFACES_TABLE = (
    "Surfaces as recorded",
    ("Panel", "Made of", "Finish", "Originality", "Evidence"),
)
FOUND_TABLE = (
    "Found on arrival",
    ("No.", "Place", "Finding", "Severity", "Extent", "Found"),
)
ENDED_TABLE = (
    "Every finding and how it ended",
    ("No.", "Finding", "Before and after", "How it ended"),
)
LEFT_TABLE = ("Left alone, and why", ("No.", "Place", "Finding", "Why it was left", "Decided"))
REMAINING_TABLE = (
    "Faults known to remain",
    ("No.", "Place", "Fault", "Severity now", "Standing"),
)
UNSEEN_TABLE = ("Not inspected", ("No.", "Place", "Question", "Why not"))
PARTS_TABLE = (
    "Parts on the vehicle",
    ("Part", "Origin", "Where the removed part is kept", "Fitted"),
)
FILM_TABLE = ("Total film", ("Place", "First", "Last", "Change of the mean"))
GLOSS_TABLE = ("Gloss", ("Place", "First", "Last", "Change of the mean"))
DROPS_TABLE = ("Angle of water drops", ("Place", "First", "Last", "Change of the mean"))
TESTS_TABLE = ("Tests of the surface", ("Place", "Test", "Answer", "Tested"))
GAUGES_TABLE = (
    "Gauges and their checks",
    ("Mark", "How it works", "One reading", "Checked around the readings"),
)
BEFORE, AFTER = "before", "after"
GAUGE_UNCHECKED = "not checked around the readings"
NOT_THE_SAME_PLACE = "not compared: no one place was named"
NO_CHANGE, MORE, LESS = "no change", "more", "less"
NO_UNCERTAINTY = "uncertainty not recorded"
EVIDENCE_TABLE = ("Files handed out with this sheet", ("No.", "What it shows", "File", "Hashes"))
CORRECTIONS_TABLE = ("Corrections", ("Corrected", "What", "Was", "Corrected to"))
EDITIONS_TABLE = ("Earlier editions", ("Edition", "Made", "Short code", "Standing"))
FIELDS = {
    "words": "words",
    "severity": "severity",
    "severity_after": "severity afterwards",
    "found_on": "day found",
    "ended": "how it ended",
    "ended_on": "day it ended",
    "odometer_shown": "odometer as shown",
    "true_distance": "distance covered",
    "odometer_words": "about the distance",
}
RECORD_WORDS = {
    "vehicle": "the vehicle",
    "panel": "surface",
    "finding": "finding",
    "outcome": "outcome of a finding",
    "film reading": "film reading",
    "gloss reading": "gloss reading",
    "drop reading": "water drops",
    "surface test": "surface test",
}
TAKEN_BACK = "taken back"
NO_REASON_GIVEN = "no reason given here"
NOT_BASED = "What that rests on is not recorded."
ORIGINAL_BELIEVED = "'Original' is a belief here: no evidence for it stands beside it."
WITHIN = "within the uncertainty of one reading"
ENTERED_ANEW = "taken back and entered anew in other words"
NOTHING_SAID = "nothing"
NO_READ_AGAIN = "not read again"

MEASURED_INTRO = (
    "Total film is primer, colour and clear together: a gauge cannot tell how much of it is "
    "clear. First and last readings are compared at the same place of a panel only. The "
    "uncertainty is that of one reading."
)
NO_MEASURED = "Nothing has been recorded as measured."
PICTURES_INTRO = (
    "Each pair shows one place before and after, as its maker says. The pictures are copies "
    "without the camera's data; where a place was painted over, the picture's words say so."
)
NO_PICTURES = "No pair of pictures from the same place is handed out with this sheet."
PAIRS = "Before and after"
ARRIVAL_PICTURES = "Pictures from the arrival"
OTHER_PICTURES = "Further pictures"
MAPS_INTRO = "Findings on the panels, as found and as they stand on the date of this sheet"
TIMELINE_CAPTION = "From arrival to this sheet"
EVIDENCE_INTRO = (
    "Each file is named by the hash (SHA-256) of the copy handed out. The hash of the original "
    "is taken over 32 secret bytes and the untouched file, and stands in the maker's records; "
    "ask the maker of this sheet for the original and those bytes to check it."
)
NO_EVIDENCE_FILES = "No file is handed out with this sheet."
CORRECTIONS_INTRO = (
    "What was recorded and is no longer said, where that was put right more than seven days "
    "later or after an edition of this sheet had gone out."
)
NO_CORRECTIONS = "No correction has been made late or after an edition had gone out."
FIRST_EDITION = "This is the first edition of this sheet."
TRIAL_COPY = "trial copy, no edition: the maker's records do not know of it"
ORIGINAL_HASH, COPY_HASH = "sealed original", "copy"

EDITION = "Edition"
LABELS = {"contents": "Contents", "code": "Short code", "skip": "To the sheet"}

ORIGIN_MEANING = {
    Origin.ORIGINAL_RETAINED: "the vehicle's own part, kept on it",
    Origin.NEW_OLD_STOCK: "a part of the time, never fitted before",
    Origin.REPRODUCTION: "a new copy of the part",
    Origin.REFURBISHED: "the vehicle's own part, or one like it, brought back to use",
    Origin.USED: "a part that has been on another vehicle",
    Origin.MODERN_SUBSTITUTE: "a newer part that does the same work and is not a copy",
}
ENDED_MEANING = {
    Ended.RESOLVED: "worked on, and no longer found at the final check of it",
    Ended.PARTLY_RESOLVED: "worked on, and less than before",
    Ended.LEFT_ALONE: "seen, considered and not worked on, for the reason given",
    Ended.NOT_INSPECTED: "not looked at, for the reason given",
}
MORE_MEANINGS = {
    "believed original": "consistent with the finish or part the vehicle left its maker with",
    "repainted": "painted again at some time, by whomever",
    "cleaned": "dirt and residue taken off, the surface itself not cut",
    "repaired": "made good without a new part",
    "restored": "brought towards a former state with new finish or new material",
    "conserved": "kept from getting worse, nothing replaced",
}

ANCHORED = (
    (
        "Made from the records kept about this vehicle, through a fixed list of fields that may "
        "be shown; private records count among them and are not shown. Each record contains the "
        "hash (SHA-256) of the one before it."
    ),
    (
        "If the shop's records still lead to the hash below, they have not been changed since "
        "the sheet was made. That proves what was written down by then, not that the vehicle was "
        "as described."
    ),
)
NOT_ANCHORED = (
    "Made from the records kept about this vehicle, through a fixed list of fields that may be "
    "shown. No hash of the records is printed on it."
)

STAGE_WORDS = {
    Stage.ARRIVAL: "on arrival",
    Stage.DURING_WORK: "during the work",
    Stage.FINAL_CHECK: "at the final check",
}
DISTANCE_WORDS = {
    TrueDistance.KNOWN: "The distance covered is recorded as known to agree with it.",
    TrueDistance.BELIEVED: "The distance covered is believed to agree with it, not known.",
    TrueDistance.NOT_KNOWN: "The distance covered is not known.",
}
UNIT_OF_ODOMETER = {
    OdometerUnit.KM: "km",
    OdometerUnit.MILES: "miles",
    OdometerUnit.UNKNOWN: "unit not known",
}
