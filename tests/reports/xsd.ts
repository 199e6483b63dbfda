/**
 * The parts of the schemas of GPX 1.1 (topografix.com/GPX/1/1/gpx.xsd) and KML 2.2 (OGC 07-147r2, ogckml22.xsd) that an
 * export can use: the same elements in the same order, with the same types. No package of the npm registry carries the
 * schemas themselves; the structure is held to these excerpts, written from the published text from memory, and each
 * file is also read by an independent reader.
 */
const XS = 'xmlns:xs="http://www.w3.org/2001/XMLSchema" elementFormDefault="qualified"';

const number = (name: string, low: string, high: string): string =>
  `<xs:simpleType name="${name}"><xs:restriction base="xs:decimal">${low}${high}</xs:restriction></xs:simpleType>`;
const least = (value: number) => `<xs:minInclusive value="${value}"/>`;
const most = (value: number) => `<xs:maxInclusive value="${value}"/>`;
const below = (value: number) => `<xs:maxExclusive value="${value}"/>`;
const some = (name: string, type: string) => `<xs:element name="${name}" type="${type}" minOccurs="0"/>`;
const many = (name: string, type: string) =>
  `<xs:element name="${name}" type="${type}" minOccurs="0" maxOccurs="unbounded"/>`;
const strings = (...names: string[]) => names.map((name) => some(name, 'xs:string')).join('');

export const GPX = `<xs:schema ${XS} xmlns="http://www.topografix.com/GPX/1/1" targetNamespace="http://www.topografix.com/GPX/1/1">
<xs:element name="gpx"><xs:complexType><xs:sequence>
  ${some('metadata', 'metadataType')}${many('wpt', 'wptType')}${many('rte', 'rteType')}
</xs:sequence>
<xs:attribute name="version" type="xs:string" use="required" fixed="1.1"/>
<xs:attribute name="creator" type="xs:string" use="required"/></xs:complexType></xs:element>
<xs:complexType name="metadataType"><xs:sequence>${strings('name', 'desc')}</xs:sequence></xs:complexType>
<xs:complexType name="wptType"><xs:sequence>
  ${some('ele', 'xs:decimal')}${some('time', 'xs:dateTime')}${some('magvar', 'xs:decimal')}${some('geoidheight', 'xs:decimal')}
  ${strings('name', 'cmt', 'desc', 'src')}${strings('sym', 'type')}
</xs:sequence>
<xs:attribute name="lat" type="latitudeType" use="required"/><xs:attribute name="lon" type="longitudeType" use="required"/>
</xs:complexType>
<xs:complexType name="rteType"><xs:sequence>
  ${strings('name', 'cmt', 'desc', 'src')}${some('number', 'xs:nonNegativeInteger')}${some('type', 'xs:string')}${many('rtept', 'wptType')}
</xs:sequence></xs:complexType>
${number('latitudeType', least(-90), most(90))}${number('longitudeType', least(-180), below(180))}
</xs:schema>`;

const FEATURE = strings('name', 'description') + some('styleUrl', 'xs:anyURI');

export const KML = `<xs:schema ${XS} xmlns="http://www.opengis.net/kml/2.2" targetNamespace="http://www.opengis.net/kml/2.2">
<xs:element name="kml"><xs:complexType><xs:sequence><xs:element name="Document" type="DocumentType"/></xs:sequence></xs:complexType></xs:element>
<xs:complexType name="DocumentType"><xs:sequence>${FEATURE}${many('Style', 'StyleType')}${many('Folder', 'FolderType')}</xs:sequence></xs:complexType>
<xs:complexType name="FolderType"><xs:sequence>${FEATURE}${many('Placemark', 'PlacemarkType')}</xs:sequence></xs:complexType>
<xs:complexType name="PlacemarkType"><xs:sequence>${FEATURE}
  <xs:choice><xs:element name="Point" type="PointType"/><xs:element name="LineString" type="LineType"/>
  <xs:element name="MultiGeometry"><xs:complexType><xs:sequence>${many('LineString', 'LineType')}</xs:sequence></xs:complexType></xs:element></xs:choice>
</xs:sequence></xs:complexType>
<xs:simpleType name="coordinatesType"><xs:list itemType="positionType"/></xs:simpleType>
<xs:simpleType name="positionType"><xs:restriction base="xs:string"><xs:pattern value="-?\\d+(\\.\\d+)?,-?\\d+(\\.\\d+)?(,-?\\d+(\\.\\d+)?)?"/></xs:restriction></xs:simpleType>
<xs:complexType name="PointType"><xs:sequence><xs:element name="coordinates" type="coordinatesType"/></xs:sequence></xs:complexType>
<xs:complexType name="LineType"><xs:sequence>${some('extrude', 'xs:boolean')}${some('tessellate', 'xs:boolean')}<xs:element name="coordinates" type="coordinatesType"/></xs:sequence></xs:complexType>
<xs:complexType name="StyleType"><xs:sequence><xs:element name="LineStyle"><xs:complexType><xs:sequence>
  <xs:element name="color"><xs:simpleType><xs:restriction base="xs:hexBinary"><xs:length value="4"/></xs:restriction></xs:simpleType></xs:element>
  ${some('width', 'xs:double')}
</xs:sequence></xs:complexType></xs:element></xs:sequence><xs:attribute name="id" type="xs:ID"/></xs:complexType>
</xs:schema>`;
