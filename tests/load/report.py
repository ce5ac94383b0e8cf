"""What was measured, as tables in Markdown."""
import os
import statistics


class Spread:
    """Seconds that answers took: their median, and what 95 in 100 do not exceed."""

    def __init__(self, times):
        self.median, self.late = statistics.median(times), statistics.quantiles(times, n=20)[-1]

    def __str__(self):
        return f"{shown(self.median)} and {shown(self.late)}"


def shown(seconds):
    """Seconds in the unit that suits them."""
    unit, factor = next((unit for unit in (("s", 1), ("ms", 1e3)) if seconds * unit[1] >= 1), ("µs", 1e6))
    return f"{seconds * factor:.3g} {unit}" if seconds * factor < 1000 else f"{seconds * factor:,.0f} {unit}"


def ratio(one, other):
    """One as a multiple of the other, as exactly as it is worth."""
    times = one / other
    return f"{times:,.0f}" if times >= 10 else f"{times:.2f}"


def section(title, head, lines, about):
    """A table under its title, with what is to be known about it below."""
    rows = [head, ("---",) * len(head), *lines]
    table = ["| " + " | ".join(row) + " |" for row in rows]
    return "\n".join([f"## {title}", "", *table, "", *(f"- {line}" for line in about), ""])


def write(folder, name, text):
    """Puts a section among those of the run."""
    with open(os.path.join(folder, f"{name}.md"), "w", encoding="utf-8") as file:
        file.write(text)


class Table:
    """Lines of the table, in the order in which they were measured."""

    def __init__(self):
        self.lines, self.ready, self.memory_idle, self.memory_busy = [], None, None, None

    def read(self, name, size, before, program, after):
        """One kind of read: the bare server before and after, and the program between them."""
        bare, bare_worked = ((before[each] + after[each]) / 2 for each in ("each_second", "each_worked"))
        self.lines.append((
            f"{name} ({size / 1000:.1f} kB)", f"{bare:,.0f}/s ({before['each_second']:,.0f} and {after['each_second']:,.0f})",
            f"{program['each_second']:,.0f}/s, p50 {program['p50'] / 1000:.1f} ms, p99 {program['p99'] / 1000:.1f} ms",
            f"{program['each_second'] / bare:.2f}", f"{program['each_worked'] / bare_worked:.2f}", "0.60"))

    def write(self, booked, before, after):
        """Bookings beside commits."""
        each_second = lambda count, seen: count * 1e6 / seen["micros"]
        first, second = each_second(before["commits"], before), each_second(after["commits"], after)
        bare, ours = (first + second) / 2, each_second(booked["placed"], booked)
        self.lines.append((
            f"bookings, {booked['desks']} desks", f"{bare:,.0f} commits/s ({first:,.0f} and {second:,.0f})", f"{ours:,.0f}/s",
            f"{ours / bare:.2f}", "", "0.80"))

    def text(self, conditions, minutes):
        """The table in Markdown."""
        lines = [*self.lines, ("start to ready, median", "", f"{self.ready:.0f} ms", "", "", "150 ms"),
                 ("resident, idle", "", f"{self.memory_idle:.0f} MiB", "", "", "30 MiB"),
                 ("resident, after the reads", "", f"{self.memory_busy:.0f} MiB", "", "", "80 MiB")]
        about = ["By processor time: requests in a second of the server's own processor time, which other work on the machine "
                 "leaves alone; where cores are shared, a server of many threads gets more of one than a server of few.",
                 f"Measured in one run of {minutes:.1f} minutes, in the order bare, program, bare.", *conditions]
        return section("The program beside a bare server", ("what", "bare", "baywright", "ratio", "by processor time", "aim"), lines, about)
