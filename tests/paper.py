"""Pages to print as a reader's eye meets them: what text stands where."""

from itertools import combinations

from matplotlib.backends.backend_agg import FigureCanvasAgg


def texts_on(figure):
    """Return what text stands on a page, with its box in pixels and its size in points."""
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw_without_rendering()  # places the ticks' labels
    found = []
    for axes in figure.axes:
        ticks = [*axes.get_xticklabels(), *axes.get_yticklabels()] if axes.axison else []
        for text in (*axes.texts, *ticks):
            if text.get_text().strip() and text.get_visible():
                box = text.get_window_extent(renderer)
                found.append((text.get_text(), box, text.get_fontsize()))
    return found


def overlapping(found):
    """Return the pairs of texts that run into each other by more than a pixel."""
    return [
        (one, other)
        for (one, a, _), (other, b, _) in combinations(found, 2)
        if min(a.x1, b.x1) - max(a.x0, b.x0) > 1 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1
    ]
