"""What a test finds, said line by line, and at its end whether all was as it should be. In the process
that ends the test: what workers find they hand back."""

failures = []
_said = 0


def expect(what, good, detail=""):
    global _said
    _said += 1
    print(f"  {what}: {'yes' if good else 'FAILED'} {detail}", flush=True)
    if not good:
        failures.append(what)


def at_most(what, worst, limit, unit=""):
    """A figure that has a limit. One that is no number is past it."""
    expect(what, worst <= limit, f"(worst {worst:.4g}, at most {limit:g} {unit})")


def above(what, least, limit, unit=""):
    expect(what, least > limit, f"(least {least:.4g}, must be above {limit:g} {unit})")


def finish(name):
    """The status for a test's main. Having looked at nothing is a failure, too."""
    if _said == 0:
        failures.append("nothing was looked at")
    for what in failures:
        print(f"FAILED {what}")
    print(f"{name}: " + (f"{len(failures)} of {_said} FAILED" if failures else f"all {_said} true"))
    return 1 if failures else 0
