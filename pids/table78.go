package pids

// rows78 is $78–$7F.
var rows78 = []PID{
	exhaust(0x78, "1", 1), exhaust(0x79, "2", 1),
	filterPressure(0x7A, "1"), filterPressure(0x7B, "2"),
	{0x7C, "particulate filter temperatures", 9, 9, []Field{
		celsius10("DPF1_INT", "particulate filter bank 1 inlet temperature", 1).when(0),
		celsius10("DPF1_OUTT", "particulate filter bank 1 outlet temperature", 3).when(1),
		celsius10("DPF2_INT", "particulate filter bank 2 inlet temperature", 5).when(2),
		celsius10("DPF2_OUTT", "particulate filter bank 2 outlet temperature", 7).when(3),
	}, layout},
	{0x7D, "NOx not-to-exceed control area status", 1, 1, nil, lengthOf},
	{0x7E, "particulate not-to-exceed control area status", 1, 1, nil, lengthOf},
	{0x7F, "engine run time", 13, 13, []Field{
		u32("RUN_TIME", "engine run time, total", "s", 1, 1, 1, 4294967295).when(0),
		u32("IDLE_TIME", "engine run time at idle", "s", 5, 1, 1, 4294967295).when(1),
		u32("PTO_TIME", "engine run time with power take-off", "s", 9, 1, 1, 4294967295).when(2),
	}, published},
}

// exhaust is one of $78, $79, $98, $99: four exhaust gas temperatures of a bank, counted
// from the number first.
func exhaust(id byte, bank string, first int) PID {
	p := PID{id, "exhaust gas temperature, bank " + bank, 9, 9, nil, published}
	if first > 4 {
		p.Name += ", second record"
	}
	for i := range 4 {
		n := string(rune('0' + first + i))
		f := celsius10(Signal("EGT"+bank+n), "exhaust gas temperature, bank "+bank+" sensor "+n, 1+2*i).when(i)
		p.Fields = append(p.Fields, f)
	}
	return p
}

// filterPressure is $7A or $7B. How the difference of pressure, the first field, is coded
// is in doubt (offset or two's complement): it is left out.
func filterPressure(id byte, bank string) PID {
	name := "particulate filter bank " + bank
	return PID{id, name + " pressures", 7, 7, []Field{
		pressure100(Signal("DPF"+bank+"_INP"), name+" inlet pressure", 3).when(1),
		pressure100(Signal("DPF"+bank+"_OUTP"), name+" outlet pressure", 5).when(2),
	}, layout}
}
