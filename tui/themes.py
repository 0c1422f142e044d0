"""The two palettes as themes of the screen library, with the names that it paints with itself."""

from __future__ import annotations

from textual.theme import Theme

from cartclock.tui.palettes import PALETTES, Palette


def _theme(name: str, dark: bool, tokens: Palette) -> Theme:
    ink, dim, greyed = tokens["ink"], tokens["dim"], tokens["greyed"]
    ground, cursor = tokens["background"], tokens["cursor-field"]
    # Names the screen library itself paints with: its own blends are too faint.
    library = {
        "text": "auto 100%",
        "text-muted": dim,
        "text-disabled": greyed,
        "foreground-muted": dim,
        "foreground-disabled": greyed,
        **{
            f"text-{role}": ink
            for role in ("primary", "secondary", "warning", "error", "success", "accent")
        },
        "block-cursor-foreground": tokens["cursor-ink"],
        "block-cursor-background": cursor,
        "block-cursor-blurred-foreground": ink,
        "block-cursor-blurred-background": tokens["panel"],
        "block-hover-background": tokens["panel"],
        "input-cursor-foreground": ground,
        "input-cursor-background": ink,
        "input-selection-foreground": tokens["cursor-ink"],
        "input-selection-background": cursor,
        "screen-selection-foreground": tokens["cursor-ink"],
        "screen-selection-background": cursor,
        "button-foreground": ink,
        "button-color-foreground": tokens["cursor-ink"],
        "link-color": ink,
        "link-color-hover": tokens["cursor-ink"],
        "link-background-hover": cursor,
        "border": dim,
        "border-blurred": tokens["rule"],
        "footer-foreground": ink,
        "footer-background": ground,
        "footer-key-foreground": ink,
        "footer-description-foreground": ink,
        **{f"markdown-h{level}-color": ink for level in range(1, 7)},
    }
    return Theme(
        name=name,
        dark=dark,
        primary=cursor,
        secondary=cursor,
        accent=cursor,
        warning=tokens["caution-field"],
        error=tokens["late-field"],
        success=tokens["ready-field"],
        foreground=ink,
        background=ground,
        surface=tokens["surface"],
        panel=tokens["panel"],
        variables={**library, **tokens},
    )


THEMES: tuple[Theme, ...] = tuple(
    _theme(name, name == "shade", tokens) for name, tokens in PALETTES.items()
)
