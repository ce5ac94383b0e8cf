"""What was measured, as a table of ratios."""


class Table:
    """Lines of the table, in the order in which they were measured."""

    def __init__(self):
        self.lines, self.ready, self.memory_idle, self.memory_busy = [], None, None, None

    def read(self, name, size, before, program, after):
        """One kind of read: the bare server before and after, and the program between them."""
        bare = (before["each_second"] + after["each_second"]) / 2
        self.lines.append((
            f"{name} ({size / 1000:.1f} kB)", f"{bare:,.0f}/s ({before['each_second']:,.0f} and {after['each_second']:,.0f})",
            f"{program['each_second']:,.0f}/s, p50 {program['p50'] / 1000:.1f} ms, p99 {program['p99'] / 1000:.1f} ms",
            f"{program['each_second'] / bare:.2f}", "0.60"))

    def write(self, booked, before, after):
        """Bookings beside commits."""
        each_second = lambda count, seen: count * 1e6 / seen["micros"]
        first, second = each_second(before["commits"], before), each_second(after["commits"], after)
        bare, ours = (first + second) / 2, each_second(booked["placed"], booked)
        self.lines.append((
            f"bookings, {booked['desks']} desks", f"{bare:,.0f} commits/s ({first:,.0f} and {second:,.0f})", f"{ours:,.0f}/s",
            f"{ours / bare:.2f}", "0.80"))

    def text(self, conditions, minutes):
        """The table in Markdown."""
        rows = [("what", "bare", "baywright", "ratio", "aim"), ("---",) * 5, *self.lines,
                ("start to ready, median", "", f"{self.ready:.0f} ms", "", "150 ms"),
                ("resident, idle", "", f"{self.memory_idle:.0f} MiB", "", "30 MiB"),
                ("resident, after the reads", "", f"{self.memory_busy:.0f} MiB", "", "80 MiB")]
        lines = ["| " + " | ".join(row) + " |" for row in rows]
        about = [f"Measured in one run of {minutes:.1f} minutes, in the order bare, program, bare.", *conditions]
        return "\n".join([*lines, "", *(f"- {line}" for line in about), ""])
