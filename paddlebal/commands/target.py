"""`paddlebal target`: the page to print for filming a swing."""

from paddlebal.commands.options import add_numbers


def add(commands):
    """Add the command to those of the parser."""
    target = commands.add_parser("target", help="a page to print, cut out and film")
    target.add_argument("--out", metavar="FILE", default="target.pdf", help="(target.pdf)")
    add_numbers(target, (("shaft-mm", 30.0, "diameter of the shaft"),))
    target.add_argument("--overwrite", action="store_true", help="replace that file")


def run(given):
    """Write the page."""
    from paddlebal.files.saving import write_bytes
    from paddlebal.sheet.target import target_page
    from paddlebal.units import MM

    write_bytes(given.out, target_page(given.shaft_mm * MM), given.overwrite)
    print(f"{given.out}: print at 100 % and measure its ruler.")
    return 0
