"""A language for tests, in which whatever is said shows itself."""


class Brackets:
    """A language in which every message is the English one in brackets, so that what is said shows itself."""

    def gettext(self, message: str) -> str:
        """The message in brackets."""
        return f"⟦{message}⟧"

    def ngettext(self, one: str, many: str, number: int) -> str:
        """One or many, in brackets."""
        return f"⟦{one if number == 1 else many}⟧"
