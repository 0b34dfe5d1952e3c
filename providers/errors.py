"""What can go wrong on the way to a forecast.  Imports nothing, so every module may import it."""


class WeatherError(Exception):
    """Anything that keeps a source from giving a forecast; the message is one line for a person."""


class BadQuestion(WeatherError, ValueError):
    """What was asked cannot be asked: the person who asks has to change it."""


class BadTable(BadQuestion):
    """A weather table (a file the user named) cannot be read as one: where, what, and what would be right."""


class UnknownSource(BadQuestion):
    """No service has that name, and no file lies there."""


class Unreachable(WeatherError, ConnectionError):
    """The service could not be reached, did not answer in time, or said it is in trouble."""


class Refused(WeatherError, PermissionError):
    """The service answered that it will not serve this request; asking again as it is would not help."""


class BadPayload(WeatherError, ValueError):
    """The service answered with something that is not a forecast in the shape it documents."""
