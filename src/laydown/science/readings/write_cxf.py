"""Readings of one sheet written as one CxF3 file: targets once, then measurements per condition."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from lxml import etree

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import BadSetting
from laydown.science.readings.types import Conditions, Readings

_NAMESPACE = "http://colorexchangeformat.com/CxF3-core"
_LIGHT = {"M0": "M0_Incandescent", "M1": "M1_Daylight", "M2": "M2_UVExcluded", "M3": "M3_Polarized"}
_INKS = {"C": "Cyan", "M": "Magenta", "Y": "Yellow", "K": "Black"}


def write_cxf(
    readings: Sequence[Readings],
    *,
    creator: str = "",
    description: str = "",
    decimals: int = 5,
) -> bytes:
    """Write the readings of one sheet, under one or several conditions, as one CxF3 file.

    Device values stand in target objects; the measurements refer to them by name. For spectra only: Lab, XYZ
    and densities are not written, nor is the finish, for which the format has no place.

    Parameters
    ----------
    readings : one Readings per measuring condition, all of the same patches
        RGB is written out of 255, or the stated ``device_scale``; CMYK in percent. Wavelengths must be
        evenly spaced. The date and the print's age are those of the first.
    creator, description : str
        Who wrote the file, and what it is.
    decimals : int
        Decimals of reflectance (0-1).

    Returns
    -------
    bytes, UTF-8, one element per line.

    Raises
    ------
    BadSetting
        There are no readings, their patches, device values or conditions do not go together, one has no
        evenly spaced spectra, or a text holds characters XML cannot carry.

    Notes
    -----
    A patch whose spectrum has a missing number gets no measurement, and is missing when read back.

    References
    ----------
    ISO 17972-1 (element names from memory).

    Checked against
    ---------------
    Reading back with the reader of this package: equal to the last decimal written.
    """
    _check(readings)
    try:
        root = etree.Element(f"{{{_NAMESPACE}}}CxF", nsmap={"cc": _NAMESPACE})
        _information(root, readings[0].conditions, creator=creator, description=description)
        resources = _add(root, "Resources")
        objects = _add(resources, "ObjectCollection")
        specifications = _add(resources, "ColorSpecificationCollection")
        _targets(objects, readings[0])
        for number, each in enumerate(readings, start=1):
            _specification(specifications, each, name=f"s{number}")
            _measurements(objects, each, number=number, decimals=decimals)
    except ValueError as error:
        raise BadSetting(
            "a text of these readings holds characters that an XML file cannot carry.",
            todo="Take control characters out of names, ids and conditions.",
        ) from error
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)


def _check(readings: Sequence[Readings]) -> None:
    """Refuse what cannot stand together in one file."""
    if not readings:
        raise BadSetting("there are no readings to write.", todo="Give at least one.")
    first = readings[0]
    for each in readings:
        if (each.ids, each.names, each.channels) != (first.ids, first.names, first.channels) or not (
            np.array_equal(_or_nan(each.device), _or_nan(first.device), equal_nan=True)
        ):
            raise BadSetting(
                "these readings are not of the same patches, and cannot stand in one file.",
                todo="Write one file for each chart.",
            )
        nm = each.wavelengths_nm
        if each.reflectance is None or nm is None or nm.size < 2 or np.ptp(np.diff(nm)) > 1e-9:
            raise BadSetting(
                "these readings have no spectra at evenly spaced wavelengths.", todo="Write CGATS instead."
            )
    if len({each.conditions.measurement.value for each in readings}) < len(readings):
        raise BadSetting(
            "two of these readings were taken under the same measuring condition.",
            todo="Write one file for each reading of the sheet.",
        )
    if first.device is not None and first.channels not in (("R", "G", "B"), tuple(_INKS)):
        raise BadSetting(
            f"device values of {', '.join(first.channels)} are not written as CxF here.",
            todo="Write CGATS instead.",
        )


def _or_nan(device: Floats | None) -> Floats:
    return np.array(np.nan) if device is None else device


def _add(parent: etree._Element, name: str, words: object = None, /, **attributes: str) -> etree._Element:
    """One more element below ``parent``, in its namespace."""
    element = etree.SubElement(parent, f"{{{_NAMESPACE}}}{name}", attributes)
    if words is not None:
        element.text = str(words)
    return element


def _information(root: etree._Element, stated: Conditions, *, creator: str, description: str) -> None:
    """What the file says about itself; the print's age stands in words, since there is no element for it."""
    about = _add(root, "FileInformation")
    age = stated.age_hours.value
    for name, value in (
        ("Creator", creator),
        ("CreationDate", stated.date.value),
        ("Description", description),
        ("Comment", None if age is None else f"measured {age:g} hours after printing"),
    ):
        if value:
            _add(about, name, value)


def _specification(collection: etree._Element, readings: Readings, *, name: str) -> None:
    """How one set of measurements was taken."""
    stated, nm = readings.conditions, readings.wavelengths_nm
    assert nm is not None  # checked before anything is written
    specification = _add(collection, "ColorSpecification", Id=name)
    if stated.illuminant.known or stated.observer.known:
        tristimulus = _add(specification, "TristimulusSpec")
        if stated.illuminant.known:
            _add(tristimulus, "Illuminant", stated.illuminant.value)
        if stated.observer.known:
            _add(tristimulus, "Observer", f"{stated.observer.value}_Degree")
    measurement = _add(specification, "MeasurementSpec")
    _add(measurement, "MeasurementType", "Spectrum_Reflectance")
    if stated.geometry.value is not None:
        lit, _, seen = stated.geometry.value.partition(":")
        if not (lit.isdigit() and seen.isdigit()):
            raise BadSetting(
                f"the geometry {stated.geometry.value} is not written as CxF here.",
                todo="Use two angles such as 45:0, or write CGATS instead.",
            )
        angles = _add(_add(measurement, "GeometryChoice"), "SingleAngle")
        _add(angles, "IlluminationAngle", lit)
        _add(angles, "MeasurementAngle", seen)
    _add(measurement, "WavelengthRange", StartWL=f"{nm[0]:g}", Increment=f"{nm[1] - nm[0]:g}")
    device = _add(measurement, "Device")
    if stated.instrument.known:
        _add(device, "Model", stated.instrument.value)
    if stated.measurement.value is not None:
        _add(device, "DeviceIllumination", _LIGHT[stated.measurement.value])
    if stated.backing.known:
        _add(measurement, "Backing", stated.backing.value)


def _object(
    collection: etree._Element, readings: Readings, row: int, *, kind: str, name: str
) -> etree._Element:
    """An object of one patch, called by its name, or by its id where it has none; tags come last."""
    shown = readings.names[row] or readings.ids[row]
    return _add(collection, "Object", ObjectType=kind, Name=shown, Id=name)


def _tags(element: etree._Element, readings: Readings, row: int, *, place: bool) -> None:
    """The id, where the object is called by a name instead, and the place on the chart."""
    found = {"SampleID": readings.ids[row]} if readings.names[row] else {}
    if place and readings.positions is not None:
        found |= dict(zip(("Row", "Column"), map(str, readings.positions[row].tolist()), strict=True))
    if found:
        tags = _add(element, "TagCollection", Name="Location")
        for name, value in found.items():
            _add(tags, "Tag", Name=name, Value=value)


def _targets(collection: etree._Element, readings: Readings) -> None:
    """The device values of every patch that has them."""
    if readings.device is None:
        return
    rgb = readings.channels == ("R", "G", "B")
    full = (readings.device_scale.value or 255.0) if rgb else 100.0
    for row, values in enumerate(np.round(readings.device * full, 6).tolist()):
        if not np.isfinite(values).all():
            continue
        target = _object(collection, readings, row, kind="Target", name=f"t{row + 1}")
        colours = _add(target, "DeviceColorValues")
        colour = _add(colours, "ColorRGB", MaxRange=f"{full:g}") if rgb else _add(colours, "ColorCMYK")
        for channel, value in zip(readings.channels, values, strict=True):
            _add(colour, channel if rgb else _INKS[channel], f"{value:.10g}")
        _tags(target, readings, row, place=False)


def _measurements(collection: etree._Element, readings: Readings, *, number: int, decimals: int) -> None:
    """The spectrum of every patch that has one."""
    spectra, nm = readings.reflectance, readings.wavelengths_nm
    assert spectra is not None  # checked before anything is written
    assert nm is not None
    start, form = f"{nm[0]:g}", " ".join([f"%.{decimals}f"] * nm.size)
    kind = f"{readings.conditions.measurement.value or 'Unstated'}_Measurement"
    for row in np.flatnonzero(np.isfinite(spectra).all(axis=-1)).tolist():
        measured = _object(collection, readings, row, kind=kind, name=f"m{number}-{row + 1}")
        colours = _add(measured, "ColorValues")
        words = form % tuple(spectra[row].tolist())
        _add(colours, "ReflectanceSpectrum", words, ColorSpecification=f"s{number}", StartWL=start)
        _tags(measured, readings, row, place=True)
