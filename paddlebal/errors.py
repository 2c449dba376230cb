"""The one exception that input can raise: a sentence a reader can act on."""


class InputError(ValueError):
    """Input that cannot be used, told in one sentence.

    Parameters
    ----------
    problem : str
        What is wrong and what was expected, without a full stop.
    file, row, field : optional
        Where it is wrong. `row` counts lines of the file from 1.
    """

    def __init__(self, problem, *, file=None, row=None, field=None):
        place = [
            str(file) if file is not None else None,
            f"row {row}" if row is not None else None,
            f"field '{field}'" if field is not None else None,
        ]
        where = ", ".join(part for part in place if part)
        super().__init__(
            f"{where}: {problem}." if where else f"{problem[:1].upper()}{problem[1:]}."
        )
        self.problem = problem
        self.file = file
        self.row = row
        self.field = field
