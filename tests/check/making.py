"""What a check found, cut down to what a test asks of it."""

from evidence.check.report import Found, RecordReport, Report


def found(report: RecordReport | Report) -> dict[int, Found]:
    """The steps that are not ok, by number."""
    return {step.n: step.found for step in report.steps if step.found is not Found.OK}


def told(report: RecordReport | Report, n: int) -> str:
    """What one step says."""
    return next(step.detail for step in report.steps if step.n == n)
