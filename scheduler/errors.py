"""What this package refuses to do.  Imports nothing, so every module may import it."""


class SchedulerError(Exception):
    """Anything this package refuses; the message is one line: what, where, and what would be right."""


class BadSetting(SchedulerError, ValueError):
    """A file or an option holds a value that cannot be used."""


class BadProcess(BadSetting):
    """A process file describes steps that cannot be followed."""


class BadBatch(BadSetting):
    """What was said of the fish or the sawdust does not fit the process."""


class BadJournal(BadSetting):
    """A journal, or a record for it, cannot be used."""


class NoJournal(BadJournal):
    """What lies at the path of a journal is something else."""


class Overtaken(BadJournal):
    """Somebody else wrote to the journal after what this writer had seen; nothing was written."""
