"""What stands last: what must follow, what to watch, notes, and how far the advice reaches."""

from __future__ import annotations

from diagnose.sheet.material import Material
from diagnose.sheet.page import Block, Listed, Paragraph, Reader, Section

__all__ = ["afterwards", "closing", "notes"]


def afterwards(material: Material) -> Section | None:
    """Work that repairs oblige to, and what to look out for after what was renewed; None without either."""
    library, blocks = material.library, list[Block]()
    owed = material.session.obligations
    if owed:
        blocks += [Paragraph("Still to be done:"), Listed(tuple(each.name for each in owed))]
    done = [each.remedy for one in material.standings for each in one.repairs]
    watch = dict.fromkeys(
        library.remedies[name].watch
        for name in done
        if name in library.remedies and library.remedies[name].watch
    )
    if watch:
        blocks += [Paragraph("To watch after what was renewed:"), Listed(tuple(watch))]
    return Section("afterwards", "What must follow, and what to watch", tuple(blocks)) if blocks else None


def notes(material: Material) -> Section | None:
    """The notes of the job, as they were written; None without any, and where such texts are left out."""
    told = tuple(text for text in material.session.state.notes if material.said(text).strip())
    return Section("notes", "Notes", (Listed(told),)) if told else None


def closing(material: Material, reader: Reader) -> tuple[str, ...]:
    """The limits of the advice."""
    advice = (
        "This sheet advises; it does not certify. Local law, the data of the car's maker and licensed "
        "practice "
        "come first, wherever they say otherwise."
    )
    fit = (
        "Do not drive a car that is not fit to be driven, and do no work on it that you are not trained for."
    )
    if reader == "owner":
        figures = (
            "Figures like 63 of 100 mean: of 100 cars that answered alike, so many have it. They rest on "
            "estimates "
            "of how often parts fail, and are no promise. Costs are estimates unless a price was asked for."
        )
    else:
        figures = (
            "Chances are exact under the fault trees, and those rest on figures that are good to a "
            "factor of 1.5 to "
            "2 on common causes; costs and times are estimates unless told. "
            f"Trees: {material.library.digest[:12] or 'of unknown version'}."
        )
    made = f"Made on {material.made:%Y-%m-%d}" + (f" from {material.name}" if material.name else "") + "."
    return (advice, fit, figures, made)
