package obd

// SAE J1979-2 puts the parameters of SAE J1979 behind service 22: identifier F400 plus the
// PID. A car that follows it does not answer services 01 to 0A.

// successorPage is the upper byte of the identifiers that stand for PIDs.
const successorPage = 0xF4

// request asks for parameters of SAE J1979 in the car's own way: 01 with the PIDs, or 22
// with an identifier each.
func (c *Capabilities) request(pid ...byte) string {
	if !c.Successor {
		return Request(0x01, pid...)
	}
	b := []byte{0x22}
	for _, p := range pid {
		b = append(b, successorPage, p)
	}
	return hexRequest(b...)
}

// information asks for vehicle information in the car's own way: service 09 with the info
// type, or service 22 with identifier F800 plus the info type.
func (c *Capabilities) information(item byte) string {
	if c.Successor {
		return Identifier(informationPage | uint16(item))
	}
	return Request(0x09, item)
}

// informationPage is the identifier of info type 00; the info types are SAE J1979's.
const (
	informationPage = 0xF800
	infoVIN         = 0x02
	infoCalibration = 0x04
)

// ParameterData is the part of a reply that holds PIDs and their data, the same in both ways:
// 41 0C 1A F8 and 62 F4 0C 1A F8. nil when the reply holds none.
func ParameterData(reply []byte) []byte {
	switch {
	case len(reply) > 1 && reply[0] == 0x01+positive:
		return reply[1:]
	case len(reply) > 2 && reply[0] == 0x22+positive && reply[1] == successorPage:
		return reply[2:]
	}
	return nil
}
