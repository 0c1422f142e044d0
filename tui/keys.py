"""Every key of the program, once: what it is called, where it works, what it does.

Screens ask by id and never by key, so that a worker may give any id other keys. Letters are bound
in both cases, because Caps Lock is struck by a wet glove and nobody looks.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cartclock.tui.key_names import key_names, printed

SCREENS = (
    "today",
    "run",
    "plan",
    "log",
    "record",
    "products",
    "outlook",
    "card",
    "charts",
    "tomorrow",
    "estimate",
    "help",
    "advice",
)
MINUTES = "minutes"

_EVERYWHERE = frozenset(SCREENS)
# On Help letters say what is looked for.
_LETTERS = _EVERYWHERE - {"help"}
_RUN = frozenset({"run"})
_SHIFT = frozenset({"today", "run"})
# Pages on which D and H have no other meaning.
_PAGES = frozenset(
    {
        "today",
        "plan",
        "log",
        "record",
        "products",
        "outlook",
        "card",
        "charts",
        "tomorrow",
        "estimate",
    }
)
_LISTS = frozenset({"today", "plan", "log", "products"})


class Key(Struct, frozen=True):
    """One thing a key can mean.

    Fields:
        id: name for the code and for settings; never changes.
        keys: names that the screen library gives them, the one shown first; letters in both
            cases. For `minutes` ten keys, whose place is the number of minutes.
        label: what it does, in one to three words; "" where the key says it by itself,
            or where it is pressed too seldom for the row of keys.
        screens: where it works; names out of `SCREENS`.
        help: one sentence.
        also: other words by which somebody may look for it; never shown.
    """

    id: str
    keys: tuple[str, ...]
    label: str
    screens: frozenset[str]
    help: str
    also: tuple[str, ...] = ()

    @property
    def face(self) -> str:
        """What is printed on its first key: "space", "B", "?"; "0-9" for the ten digits."""
        return self.faces[0]

    @property
    def faces(self) -> tuple[str, ...]:
        """What is printed on each of its keys; a letter once."""
        if self.id == MINUTES:
            return (f"{printed(self.keys[0])}-{printed(self.keys[-1])}",)
        return tuple(dict.fromkeys(printed(name) for name in self.keys))


def _key(id: str, keys: str, label: str, screens: Iterable[str], help: str, also: str = "") -> Key:
    names = tuple(name for given in keys.split() for name in key_names(given))
    return Key(id, names, label, frozenset(screens), help, tuple(also.split(",")) if also else ())


# In order of need: where a screen is narrow, the last ones lose their labels first.
KEYS: tuple[Key, ...] = (
    _key("take_up", "space pagedown right enter", "take up", _RUN,
         "Take up what the line of the key names; what was in hand ends at that instant.",
         "next,start,begin,done,finish,finished,continue,go"),
    _key("take_back", "backspace pageup left", "take back", _RUN, "Take back the newest press.",
         "undo,mistake,wrong,oops,revert,delete,cancel"),
    _key("choose", "space enter pagedown right", "choose", _LISTS,
         "Open what can be done with the chosen line."),
    _key("go_on", "space enter pagedown right", "go on", ("card",),
         "Go on with the new job that is being opened."),
    _key("ask", "space enter pagedown right", "what for", ("tomorrow", "estimate"),
         "Say what for: the job of an estimate, or the air of tomorrow.",
         "forecast,csv,weather,plan,body"),
    _key("next_chart", "space pagedown right", "next chart", ("charts",),
         "Go to the next chart: stages against plan, money, flash times, heat, products, ready.",
         "page,turn"),
    _key("chart_before", "backspace pageup left", "one before", ("charts",),
         "Go to the chart before."),
    _key("as_table", "v", "table or chart", ("charts",), "Show the figures of a chart, and back.",
         "numbers,values,list"),
    _key("as_told", "v", "how it was told", ("outlook",),
         "Show when the open job would be ready, as it was told over the day, as a chart.",
         "chart,slipping,forecast"),
    _key("of_what", "f", "of what", ("charts",),
         "Choose what a chart is of: a plan and body, or a product.", "filter,plan,product,body"),
    _key("press", "enter space", "press it", ("help",),
         "Press the key that is chosen on Help; behind a letter a blank belongs to what is typed.",
         "do,find,search"),
    _key("mark", "m", "mark", ("plan",), "Mark a section, to take several together."),
    _key("break", "b", "break", _SHIFT, "Open the list of breaks; windows run on.",
         "pause,lunch,meal,coffee,rest,stop,eat"),
    _key("other_work", "x", "other work", _SHIFT,
         "Open the list of other work: phone, water, pads and towels, driving and the rest.",
         "phone,sweep,fetch,clean,drive,errand"),
    _key("reading", "r", "reading", _SHIFT,
         "Enter air and panel temperature, humidity, sun and air movement.",
         "temperature,humidity,heat,hot,cold,weather,climate,measure,dew,gate"),
    _key("caller", "c", "caller", _SHIFT,
         "Show what to tell a caller; there P and H begin the call, B promises to call "
         "back at a time, W hides names and prices.",
         "phone,telephone,call,ring,ready,eta,how,far,customer"),
    _key("help", "?", "keys", _EVERYWHERE,
         "Show every key, what it does, and why it cannot be used now."),
    _key("put_down", "h", "put down", _RUN,
         "Put down what is in hand, unfinished; windows run on.",
         "stop,hold,pause,interrupt"),
    _key("seen", "w", "seen ready", _RUN,
         "Mark the moment at which the film was seen to be ready.",
         "flash,haze,look,watch"),
    _key("drink", "k", "drink", _SHIFT, "Note a drink of water, and how much.",
         "water,bottle,thirst,thirsty,cup,electrolytes"),
    _key("unwell", "f", "how I feel", _SHIFT,
         "Name a sign of being unwell; what to do about it fills the screen.",
         "sick,ill,dizzy,headache,cramp,doctor,emergency,first,aid,faint"),
    _key("well", "j", "I am well", _SHIFT,
         "Say that you are well, and when you will again; the asking gets louder and calls "
         "nobody.",
         "alone,sign,life,alive,okay,ok,check"),
    _key("note", "n", "note", _RUN,
         "Write a note, or what went wrong: spill, dropped clay, burnt edge, broken part.",
         "write,text,remark,comment,incident,accident,complaint,mistake"),
    _key("print", "n", "print", ("record",),
         "Print the customer's sheet, the record, the arrival sheet or the day, or only write "
         "the files.",
         "paper,sheet,pdf,file"),
    _key("amount", "a", "amount", ("run", "products"),
         "Enter how much of a product was used, or take a fresh pad or towel.",
         "used,ml,product,bottle,dose,consumption,fresh,change,pad,towel"),
    _key("vehicle", "v", "vehicle", _RUN,
         "Note the vehicle: whose, odometer, damage, thickness, gloss, extras, photos, "
         "test spots.",
         "car,damage,scratch,odometer,paint,gloss,thickness,plate,customer,price,photo"),
    _key("mix", "m", "mix", ("run",),
         "Show what is to be mixed for the sections left, product and water; start mixing.",
         "dilute,dilution,ratio,pack,coating,open"),
    _key("look", "z", "look again", ("run",),
         "Look again at what is due, or at any film that lies open: fine, or what was found.",
         "check,inspect,high,spot,smear,hologram,defect"),
    _key("water", "y", "water", ("run",),
         "Water got on it: lists what is not dry yet, and marks what is picked.",
         "rain,wet,drop,drops,splash,dew,sprinkler,drink"),
    _key("leave_out", "s", "leave out", _RUN, "Leave a section out, with the reason.",
         "skip,omit,without,not"),
    _key("do_again", "d", "do again", _RUN, "Open a finished section again, with the reason.",
         "redo,repeat,once,more,reopen,polish"),
    _key("cut_in_two", "/", "cut in two", _RUN, "Cut sections not yet touched in two.",
         "split,divide,half,halves,smaller"),
    _key("add", "+", "add", ("today", "run", "plan", "estimate"),
         "Add a section, a stage, or somebody who helps; on Today a job, on Plan a section, on "
         "Estimate the job that was asked about.",
         "new,insert,open,helper,two,second"),
    _key("answer", "g", "answer", _SHIFT,
         "Answer what is open about today: time not known, long breaks, who was told of a promise.",
         "question,gap,unknown"),
    _key("other_cart", "a", "", ("today",),
         "Give the chosen job to another cart, or take one of another cart over: by the shop, or "
         "by a file on a stick.",
         "give,take,hand,over,stick,file,laptop,shop"),
    _key("clock", "i", "clock on/off", _SHIFT,
         "Clock on, or off at the end of the shift.",
         "start,end,day,shift,home,begin,work"),
    _key(MINUTES, "0 1 2 3 4 5 6 7 8 9", "minutes ago", _RUN,
         "Before taking up: it happened that many minutes ago."),
    _key("up", "up", "", _EVERYWHERE, "Choose another move; in a list, the line above."),
    _key("down", "down", "", _EVERYWHERE, "Choose another move; in a list, the line below."),
    _key("today", "t", "today", _LETTERS, "Go to Today: jobs, and windows of hours and days.",
         "jobs,home,list,start"),
    _key("run", "u", "run", _LETTERS, "Go to Run: what is in hand and what can be taken up.",
         "clock,timer,window"),
    _key("plan", "p", "plan", _LETTERS, "Go to Plan: stages, sections and steps.",
         "stages,sections,order"),
    _key("log", "l", "log", _LETTERS, "Go to Log: every press, and corrections.",
         "history,presses,correct,correction,strike"),
    _key("record", "e", "record", _LETTERS, "Go to Record: the job as it will be printed.",
         "report,paper,result"),
    _key("products", "o", "products", _LETTERS,
         "Go to Products: what is left, lots, cost, what to know of each, pads and towels in use.",
         "stock,lot,expiry,left,bottle"),
    _key("outlook", "d", "outlook", _PAGES,
         "Go to Outlook: when each job will be done, stage by stage, with the windows.",
         "when,end,finish,promise,forecast,left"),
    _key("tomorrow", "m", "tomorrow", ("outlook", "estimate"),
         "Go to Tomorrow: when to begin, whether the coat goes on in the same run, hour by hour.",
         "forecast,weather,heat,evening,morning,start,day"),
    _key("estimate", "n", "estimate", ("today", "outlook", "tomorrow"),
         "Go to Estimate: what a job will take and cost before there is one.",
         "quote,price,offer,phone,hours,cost"),
    _key("history", "h", "history", _PAGES,
         "Go to History: every job there was, found by what is said of it, with its record and the "
         "card of its vehicle.",
         "old,earlier,past,search,customer"),
    _key("charts", "tab", "charts", _PAGES - {"today", "charts"},
         "Go to Charts: how it went before, drawn, and the same as tables.",
         "graph,plot,money,heat,trend,diagram"),
    _key("theme", "*", "", _EVERYWHERE,
         "Take the light ground or the dark one, for now; the setting `theme` takes it for good.",
         "colour,color,sun,shade,night,bright,screen"),
    _key("back", "escape", "back", _EVERYWHERE, "Leave a list or a screen; nothing is written.",
         "close,leave,cancel,escape"),
    _key("quit", "q", "quit", _LETTERS,
         "Leave the program, asking first on the clock; the log is on disk and time runs on.",
         "exit,close,end,stop"),
)  # fmt: skip

# Only where the settings name a second worker: one of the keys of `take_up` is theirs then.
HELPER = _key(
    "helper", "enter", "helper", _RUN,
    "Take up what the helper's line names; what the helper had in hand ends at that instant.",
)  # fmt: skip


def _for_two() -> tuple[Key, ...]:
    """The registry for two workers at one cart."""
    first = KEYS[0]
    left = tuple(name for name in first.keys if name not in HELPER.keys)
    return (replace(first, keys=left), HELPER, *KEYS[1:])


def keymap(overrides: Mapping[str, Sequence[str]], helper: bool = False) -> tuple[Key, ...]:
    """The registry with other keys for some ids.

    Args:
        helper: True if a second worker has a key of their own.
        overrides: id to keys, each the library's name of a key or the character itself; a letter
            stands for both its cases. `minutes` takes ten keys, for 0 to 9 minutes, and no letters.

    Returns:
        Every `Key`, in the order of `KEYS`; `HELPER` behind the first.

    Raises:
        ValueError: an unknown id or key, no keys at all, or a key with two meanings on one
            screen; the text is a sentence for the worker.
    """
    known = _for_two() if helper else KEYS
    ids = [key.id for key in known]
    for id in overrides:
        if id not in ids:
            near = difflib.get_close_matches(id, ids, n=1)
            raise ValueError(f"Nothing is called {id!r}" + (f"; {near[0]!r}?" if near else "."))
    keys = tuple(
        replace(key, keys=_rebound(key.id, overrides[key.id])) if key.id in overrides else key
        for key in known
    )
    for screen in SCREENS:
        _refuse_clashes(keys, screen)
    return keys


def _rebound(id: str, given: Sequence[str]) -> tuple[str, ...]:
    if isinstance(given, str):
        raise ValueError(f"The keys of {id!r} must be a list, such as [{given!r}].")
    names = tuple(dict.fromkeys(name for one in given for name in key_names(one)))
    if not names:
        raise ValueError(f"{id!r} must keep at least one key.")
    letters = [name for name in names if len(name) == 1 and name.isalpha()]
    if id == MINUTES and (letters or len(names) != 10):
        raise ValueError(f"{id!r} needs ten different keys for 0 to 9, none of them a letter.")
    return names


def _refuse_clashes(keys: Iterable[Key], screen: str) -> None:
    taken: dict[str, str] = {}
    for key in on_screen(keys, screen):
        for name in key.keys:
            if name in taken:
                raise ValueError(
                    f"Key {printed(name)!r} would mean both {taken[name]!r} and {key.id!r} "
                    f"on the screen {screen!r}."
                )
            taken[name] = key.id


def on_screen(keys: Iterable[Key], screen: str) -> tuple[Key, ...]:
    """The keys that work on one screen (a name out of `SCREENS`), in the same order."""
    return tuple(key for key in keys if screen in key.screens)


def meaning(keys: Iterable[Key], screen: str, pressed: str) -> str | None:
    """The id that a pressed key (by the library's name) has on a screen; None if it has none."""
    return next((key.id for key in on_screen(keys, screen) if pressed in key.keys), None)


def markdown_table(keys: Iterable[Key] = KEYS) -> str:
    """The registry as a Markdown table with the columns Key, Does and Works on."""
    rows = ["| Key | Does | Works on |", "|---|---|---|"]
    for key in keys:
        faces = ", ".join(key.faces).replace("|", "\\|")
        names = [name.capitalize() for name in SCREENS if name in key.screens]
        where = "every screen" if len(names) == len(SCREENS) else ", ".join(names)
        where = "every screen but Help" if key.screens == _LETTERS else where
        rows.append(f"| {faces} | {key.help} | {where} |")
    return "\n".join(rows) + "\n"
