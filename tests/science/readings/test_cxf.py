"""CxF3: objects joined, conditions separated, prefixes and places of attributes as files really have them."""

from __future__ import annotations

import pytest

from laydown.kernel.errors import UnreadableFile
from laydown.science.readings import read_measurements

NAMESPACE = "http://colorexchangeformat.com/CxF3-core"


def spec(name, *, condition="", axis='StartWL="400" Increment="10"', extra="", tristimulus=""):
    light = f"<DeviceIllumination>{condition}</DeviceIllumination>" if condition else ""
    wavelengths = f"<WavelengthRange {axis}/>" if axis else ""
    return (
        f'<ColorSpecification Id="{name}">{tristimulus}<MeasurementSpec>{wavelengths}'
        f"<Device>{light}</Device>{extra}</MeasurementSpec></ColorSpecification>"
    )


def spectrum(values, specification="s", attributes='StartWL="400"'):
    name = "ReflectanceSpectrum"
    return f'<{name} ColorSpecification="{specification}" {attributes}>{values}</{name}>'


def item(name, *, colours="", device="", tags="", kind="Standard", identity="x"):
    parts = f"<ColorValues>{colours}</ColorValues>" if colours else ""
    parts += f"<DeviceColorValues>{device}</DeviceColorValues>" if device else ""
    parts += f"<TagCollection>{tags}</TagCollection>" if tags else ""
    return f'<Object ObjectType="{kind}" Name="{name}" Id="{identity}">{parts}</Object>'


def rgb(r, g, b):
    return f"<ColorRGB><R>{r}</R><G>{g}</G><B>{b}</B></ColorRGB>"


def place(row, column, page=1):
    return "".join(
        f'<Tag Name="{name}" Value="{value}"/>'
        for name, value in (("Page", page), ("Row", row), ("Column", column))
    )


def cxf(*objects, specs=(), prefix="", information=""):
    specs = specs or (spec("s"),)
    body = (
        f"<FileInformation>{information}</FileInformation><Resources><ObjectCollection>{''.join(objects)}"
        f"</ObjectCollection><ColorSpecificationCollection>{''.join(specs)}</ColorSpecificationCollection></Resources>"
    )
    if prefix:
        body = body.replace("</", "\0").replace("<", f"<{prefix}:").replace("\0", f"</{prefix}:")
        return (
            f'<?xml version="1.0"?><{prefix}:CxF xmlns:{prefix}="{NAMESPACE}">{body}</{prefix}:CxF>'.encode()
        )
    return f'<?xml version="1.0"?><CxF xmlns="{NAMESPACE}">{body}</CxF>'.encode()


def read(data):
    return read_measurements(data, file="a.cxf")


@pytest.mark.parametrize("prefix", ["", "cc", "ns0"])
def test_prefixes_do_not_matter(prefix):
    (table,) = read(
        cxf(item("A1", colours=spectrum("0.1 0.2 0.3"), device=rgb(255, 0, 51)), prefix=prefix)
    ).tables
    assert table.reflectance.tolist() == [[0.1, 0.2, 0.3]]
    assert table.wavelengths_nm.tolist() == [400, 410, 420]
    assert table.device.tolist() == [[1.0, 0.0, 0.2]]
    assert table.ids == ("A1",)
    assert table.format == "CxF3"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "iso-8859-1"])
def test_declared_encodings(encoding):
    text = cxf(item("Grün", colours=spectrum("0.1 0.2 0.3"))).decode()
    data = text.replace('version="1.0"', f'version="1.0" encoding="{encoding}"').encode(encoding)
    assert read(data).tables[0].names == ("Grün",)


@pytest.mark.parametrize(
    ("attributes", "axis"),
    [
        ('StartWL="400" Increment="10"', ""),
        ('StartWL="400"', 'Increment="10"'),
        ("", 'StartWL="400" Increment="10"'),
        ('StartWL="400" Increment="10"', 'StartWL="380" Increment="5"'),
    ],
)
def test_wavelengths_from_the_spectrum_or_its_specification(attributes, axis):
    data = cxf(
        item("1", colours=spectrum("0.1 0.2 0.3", attributes=attributes)), specs=(spec("s", axis=axis),)
    )
    assert read(data).tables[0].wavelengths_nm.tolist() == [400, 410, 420]


def test_a_spectrum_without_wavelengths_is_refused_with_its_place():
    with pytest.raises(UnreadableFile, match="does not say at which wavelengths"):
        read(cxf(item("1", colours=spectrum("0.1 0.2", attributes="")), specs=(spec("s", axis=""),)))


def test_several_conditions_become_several_tables():
    colours = spectrum("0.1 0.2 0.3", "m0") + spectrum("0.4 0.5 0.6", "m1") + spectrum("0.7 0.8 0.9", "m2")
    specs = [
        spec(f"m{i}", condition=word)
        for i, word in enumerate(("M0_Incandescent", "M1_Daylight", "M2_UVExcluded"))
    ]
    found = read(cxf(item("1", colours=colours), specs=specs))
    assert [str(table.conditions.measurement) for table in found.tables] == ["M0", "M1", "M2"]
    assert [table.table for table in found.tables] == ["M0", "M1", "M2"]
    assert [table.reflectance[0, 0] for table in found.tables] == [0.1, 0.4, 0.7]
    assert "DeviceIllumination, line" in found.tables[1].conditions.measurement.where
    assert found.problems == ()


def test_conditions_named_by_object_type_only():
    objects = [item("1", colours=spectrum(f"0.{i} 0.2 0.3"), kind=f"M{i}_Measurement") for i in (1, 2)]
    assert [str(t.conditions.measurement) for t in read(cxf(*objects)).tables] == ["M1", "M2"]


def test_ids_all_minus_one_are_joined_by_page_row_and_column():
    targets = [
        item("-1", device=rgb(0, 0, 255), tags=place(1, 2)),
        item("-1", device=rgb(255, 0, 0), tags=place(1, 1)),
    ]
    measured = [
        item("-1", colours=spectrum("0.1 0.2 0.3"), tags=place(1, 1)),
        item("-1", colours=spectrum("0.4 0.5 0.6"), tags=place(1, 2)),
    ]
    (table,) = read(cxf(*targets, *measured)).tables
    assert table.device.tolist() == [[1, 0, 0], [0, 0, 1]]
    assert table.positions.tolist() == [[1, 1], [1, 2]]
    assert len(set(table.ids)) == 2


def test_targets_are_joined_by_name():
    targets = item("B", device=rgb(0, 0, 0)), item("A", device=rgb(255, 255, 255))
    measured = item("A", colours=spectrum("0.9 0.9 0.9")), item("B", colours=spectrum("0.1 0.1 0.1"))
    (table,) = read(cxf(*targets, *measured)).tables
    assert table.ids == ("A", "B")
    assert table.device.tolist() == [[1, 1, 1], [0, 0, 0]]


def test_inks_beyond_cmyk():
    device = (
        "<ColorCMYKPlusN><Cyan>100</Cyan><Magenta>0</Magenta><Yellow>0</Yellow><Black>50</Black>"
        '<SpotColor Name="Orange" Percentage="25"/>'
        "<SpotColor><Name>Violet</Name><Percentage>0</Percentage></SpotColor>"
        "</ColorCMYKPlusN>"
    )
    (table,) = read(cxf(item("1", colours=spectrum("0.1 0.2 0.3"), device=device))).tables
    assert table.channels == ("C", "M", "Y", "K", "Orange", "Violet")
    assert table.device.tolist() == [[1, 0, 0, 0.5, 0.25, 0]]


def test_lab_xyz_and_densities_of_an_unmeasured_specification_go_with_the_one_measurement():
    colours = (
        spectrum("0.1 0.2 0.3")
        + '<ColorCIELab ColorSpecification="t"><L>50</L><A>1</A><B>2</B></ColorCIELab>'
        + '<ColorCIEXYZ ColorSpecification="t"><X>20</X><Y>18</Y><Z>15</Z></ColorCIEXYZ>'
        + '<ColorDensity ColorSpecification="t" Filter="Cyan">1.2</ColorDensity>'
        + '<ColorDensity ColorSpecification="t" Filter="Black">1.5</ColorDensity>'
    )
    light = "<TristimulusSpec><Illuminant>D50</Illuminant><Observer>2_Degree</Observer></TristimulusSpec>"
    specs = (spec("s"), f'<ColorSpecification Id="t">{light}</ColorSpecification>')
    (table,) = read(cxf(item("1", colours=colours), specs=specs)).tables
    assert table.lab.tolist() == [[50, 1, 2]]
    assert table.xyz.tolist() == [[20, 18, 15]]
    assert {name: values.tolist() for name, values in table.densities.items()} == {
        "red": [1.2],
        "visual": [1.5],
    }
    assert (str(table.conditions.illuminant), str(table.conditions.observer)) == ("D50", "2")


def test_conditions_of_the_specification_and_the_file():
    extra = (
        "<Backing>Black</Backing><GeometryChoice><SingleAngle><IlluminationAngle>45</IlluminationAngle>"
        "<MeasurementAngle>0</MeasurementAngle></SingleAngle></GeometryChoice>"
    )
    data = cxf(
        item("1", colours=spectrum("0.1 0.2 0.3")),
        specs=(spec("s", condition="M3_Polarized", extra=extra),),
        information="<CreationDate>2025-04-08T09:48:45</CreationDate>"
        "<Description>read 23 h after printing</Description>",
    )
    found = read(data).tables[0].conditions
    assert (str(found.measurement), str(found.backing), str(found.geometry)) == ("M3", "black", "45:0")
    assert found.age_hours.value == 23.0
    assert str(found.date) == "2025-04-08T09:48:45"


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ("0.1 x 0.3", "not a number"),
        ("0.1 nan 0.3", "not a number"),
        ("0.1 0.2", "other wavelengths"),
        ("", "not a number"),
    ],
)
def test_one_bad_spectrum_is_left_out_by_name(values, said):
    found = read(cxf(item("A", colours=spectrum("0.1 0.2 0.3")), item("B", colours=spectrum(values))))
    assert found.tables[0].ids == ("A",)
    (problem,) = found.problems
    assert (problem.severity, problem.patch) == ("error", "B")
    assert said in problem.what


def test_a_chart_without_measurements_is_a_list_of_device_colours():
    with pytest.raises(UnreadableFile, match="list of device colours"):
        read(cxf(item("1", device=rgb(1, 2, 3))))


def test_other_xml_is_refused_by_its_first_element():
    with pytest.raises(UnreadableFile, match=r'not CxF \(its first element is "svg"\)'):
        read(b"<svg/>")


def test_lab_goes_with_the_condition_its_object_type_names():
    colours = spectrum("0.1 0.2 0.3", "m0") + spectrum("0.4 0.5 0.6", "m1")
    colours += '<ColorCIELab ColorSpecification="t"><L>50</L><A>1</A><B>2</B></ColorCIELab>'
    specs = (spec("m0", condition="M0"), spec("m1", condition="M1"), '<ColorSpecification Id="t"/>')
    found = read(cxf(item("1", colours=colours, kind="M1_Measurement"), specs=specs))
    assert [(table.table, table.lab is not None) for table in found.tables] == [("M0", False), ("M1", True)]
