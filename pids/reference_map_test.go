package pids

// Which of Scapy's fields is which of our signals. The names are those of the columns of
// testdata/reference/scapy.csv.

// dataFields are the PIDs of a single quantity, which Scapy calls "data".
var dataFields = map[byte]Signal{
	0x04: LoadPct, 0x05: ECT, 0x06: "SHRTFT1", 0x07: "LONGFT1", 0x08: "SHRTFT2", 0x09: "LONGFT2", 0x0A: "FRP", 0x0B: MAP,
	0x0C: RPM, 0x0D: VSS, 0x0E: "SPARKADV", 0x0F: "IAT", 0x11: TP, 0x12: "AIR_STAT", 0x1C: "OBDSUP", 0x1F: "RUNTM",
	0x21: "MIL_DIST", 0x22: "FRP_REL", 0x23: "FRP_HIGH", 0x2C: "EGR_PCT", 0x2D: "EGR_ERR", 0x2E: "EVAP_PCT", 0x2F: "FLI",
	0x30: "WARM_UPS", 0x31: "CLR_DIST", 0x32: "EVAP_VP", 0x33: "BARO",
	0x3C: "CATEMP11", 0x3D: "CATEMP21", 0x3E: "CATEMP12", 0x3F: "CATEMP22",
	0x42: VPWR, 0x43: LoadAbs, 0x44: "LAMBDA", 0x45: TPR, 0x46: "AAT", 0x47: "TP_B", 0x48: "TP_C", 0x49: APPD, 0x4A: "APP_E",
	0x4B: "APP_F", 0x4C: "TAC_PCT", 0x4D: "MIL_TIME", 0x4E: "CLR_TIME", 0x50: "MAF_MAX", 0x51: "FUEL_TYP", 0x52: "ALCH_PCT",
	0x53: "EVAP_VPA", 0x54: "EVAP_VPW", 0x59: "FRP_ABS", 0x5A: APPR, 0x5B: "BAT_PWR", 0x5C: "EOT", 0x5D: "FUEL_TIMING",
	0x5E: "FUEL_RATE", 0x5F: "EMIS_SUP", 0x61: "TQ_DD", 0x62: "TQ_ACT", 0x63: "TQ_REF",
}

// recordFields are the PIDs of several quantities, and those whose one has another name.
var recordFields = map[byte]map[string]Signal{
	0x03: {"fuel_system1": "FUELSYS1", "fuel_system2": "FUELSYS2"},
	0x13: {"sensors_present": "O2SLOC"},
	0x1D: {"sensors_present": "O2SLOC4"},
	0x1E: {"pto_status": "PTO_STAT"},
	0x4F: {
		"equivalence_ratio": "LAMBDA_MAX", "sensor_voltage": "O2S_V_MAX", "sensor_current": "O2S_C_MAX",
		"intake_manifold_absolute_pressure": "MAP_MAX",
	},
	0x55: {"bank1": "STSO2FT1", "bank3": "STSO2FT3"},
	0x56: {"bank1": "LGSO2FT1", "bank3": "LGSO2FT3"},
	0x57: {"bank2": "STSO2FT2", "bank4": "STSO2FT4"},
	0x58: {"bank2": "LGSO2FT2", "bank4": "LGSO2FT4"},
	0x64: {"at_point1": "TQ_MAX1", "at_point2": "TQ_MAX2", "at_point3": "TQ_MAX3", "at_point4": "TQ_MAX4", "at_point5": "TQ_MAX5"},
	0x65: {
		"power_take_off_status": "AUX_PTO", "auto_trans_neutral_drive_status": "N/D_STAT",
		"manual_trans_neutral_drive_status": "N/G_STAT", "glow_plug_lamp_status": "GPL_STAT",
	},
	0x66: {"sensor_a": "MAFA", "sensor_b": "MAFB"},
	0x67: {"sensor1": "ECT1", "sensor2": "ECT2"},
	0x68: {
		"bank1_sensor1": "IAT11", "bank1_sensor2": "IAT12", "bank1_sensor3": "IAT13",
		"bank2_sensor1": "IAT21", "bank2_sensor2": "IAT22", "bank2_sensor3": "IAT23",
	},
	0x69: {
		"commanded_egr_a_duty_cycle": "EGR_A_CMD", "actual_egr_a_duty_cycle": "EGR_A_ACT", "egr_a_error": "EGR_A_ERR",
		"commanded_egr_b_duty_cycle": "EGR_B_CMD", "actual_egr_b_duty_cycle": "EGR_B_ACT", "egr_b_error": "EGR_B_ERR",
	},
	0x6A: {
		"commanded_intake_air_flow_a_control": "IAF_A_CMD", "relative_intake_air_flow_a_position": "IAF_A_REL",
		"commanded_intake_air_flow_b_control": "IAF_B_CMD", "relative_intake_air_flow_b_position": "IAF_B_REL",
	},
	0x6B: {"bank1_sensor1": "EGRT11", "bank1_sensor2": "EGRT12", "bank2_sensor1": "EGRT21", "bank2_sensor2": "EGRT22"},
	0x6C: {
		"commanded_throttle_actuator_a_control": "TAC_A_CMD", "relative_throttle_a_position": "TP_A_REL",
		"commanded_throttle_actuator_b_control": "TAC_B_CMD", "relative_throttle_b_position": "TP_B_REL",
	},
	0x6D: {"commanded_fuel_rail_pressure": "FRP_A_CMD", "fuel_rail_pressure": "FRP_A", "fuel_rail_temperature": "FRT_A"},
	0x6E: {"commanded_injection_control_pressure": "ICP_A_CMD", "injection_control_pressure": "ICP_A"},
	0x6F: {"sensor_a": "TCA_CINP", "sensor_b": "TCB_CINP"},
	0x70: {
		"commanded_boost_pressure_a": "BP_A_CMD", "boost_pressure_sensor_a": "BP_A_ACT",
		"commanded_boost_pressure_b": "BP_B_CMD", "boost_pressure_sensor_b": "BP_B_ACT",
	},
	0x71: {
		"commanded_variable_geometry_turbo_a_position": "VGT_A_CMD", "variable_geometry_turbo_a_position": "VGT_A_ACT",
		"commanded_variable_geometry_turbo_b_position": "VGT_B_CMD", "variable_geometry_turbo_b_position": "VGT_B_ACT",
	},
	0x72: {
		"commanded_wastegate_a_position": "WG_A_CMD", "wastegate_a_position": "WG_A_ACT",
		"commanded_wastegate_b_position": "WG_B_CMD", "wastegate_b_position": "WG_B_ACT",
	},
	0x73: {"sensor_bank1": "EP1", "sensor_bank2": "EP2"},
	0x75: turboFields("TCA"),
	0x76: turboFields("TCB"),
	0x77: {"bank1_sensor1": "CACT11", "bank1_sensor2": "CACT12", "bank2_sensor1": "CACT21", "bank2_sensor2": "CACT22"},
	0x78: {"sensor1": "EGT11", "sensor2": "EGT12", "sensor3": "EGT13", "sensor4": "EGT14"},
	0x79: {"sensor1": "EGT21", "sensor2": "EGT22", "sensor3": "EGT23", "sensor4": "EGT24"},
	0x7A: {"particulate_filter": "DPF1_INP", "outlet_pressure": "DPF1_OUTP"},
	0x7B: {"particulate_filter": "DPF2_INP", "outlet_pressure": "DPF2_OUTP"},
	0x7C: {
		"bank1_inlet_temperature_sensor": "DPF1_INT", "bank1_outlet_temperature_sensor": "DPF1_OUTT",
		"bank2_inlet_temperature_sensor": "DPF2_INT", "bank2_outlet_temperature_sensor": "DPF2_OUTT",
	},
}

// Scapy gives the second turbocharger the names of the first.
func turboFields(turbo Signal) map[string]Signal {
	return map[string]Signal{
		"turbocharger_a_compressor_inlet_temperature":  turbo + "_CINT",
		"turbocharger_a_compressor_outlet_temperature": turbo + "_COUTT",
		"turbocharger_a_turbine_inlet_temperature":     turbo + "_TINT",
		"turbocharger_a_turbine_outlet_temperature":    turbo + "_TOUTT",
	}
}

// supportOf names the support bit of a field, where it is not the field's name and
// "_supported".
var supportOf = map[string]string{
	"fuel_rail_temperature":                        "fuel_temperature_supported",
	"commanded_variable_geometry_turbo_a_position": "commanded_vgt_a_position_supported",
	"variable_geometry_turbo_a_position":           "vgt_a_position_supported",
	"commanded_variable_geometry_turbo_b_position": "commanded_vgt_b_position_supported",
	"variable_geometry_turbo_b_position":           "vgt_b_position_supported",
	"turbocharger_a_compressor_inlet_temperature":  "turbo_a_compressor_inlet_temperature_supported",
	"turbocharger_a_compressor_outlet_temperature": "turbo_a_compressor_outlet_temperature_supported",
	"turbocharger_a_turbine_inlet_temperature":     "turbo_a_turbine_inlet_temperature_supported",
	"turbocharger_a_turbine_outlet_temperature":    "turbo_a_turbine_outlet_temperature_supported",
	"particulate_filter":                           "inlet_pressure_supported",
	"bank1_inlet_temperature_sensor":               "bank1_inlet_temperature_supported",
	"bank1_outlet_temperature_sensor":              "bank1_outlet_temperature_supported",
	"bank2_inlet_temperature_sensor":               "bank2_inlet_temperature_supported",
	"bank2_outlet_temperature_sensor":              "bank2_outlet_temperature_supported",
}

// otherLength are the PIDs that Scapy takes for a length that none of the editions has, so
// that nothing in them can be compared.
var otherLength = map[byte]string{
	0x10: "Scapy 2.5.0 takes one byte of the two (SAE J1979 as published: u16/100, 0 to 655.35 g/s)",
	0x7F: "Scapy takes the three times for 64 bits each, 25 bytes; published are 13 bytes: three times 32 bits",
}

// ourGaps are fields that Scapy reads and we do not, and why.
var ourGaps = map[byte]map[string]string{
	0x74: {"a_rpm": turboSpeed, "b_rpm": turboSpeed},
	0x7A: {"delta_pressure": deltaPressure},
	0x7B: {"delta_pressure": deltaPressure},
	0x7D: {
		"inside": nteArea, "outside": nteArea,
		"inside_manufacturer_specific_nox_nte_carve_out_area": nteArea, "nte_deficiency_for_nox_active_area": nteArea,
	},
	0x7E: {
		"inside": nteArea, "outside": nteArea,
		"inside_manufacturer_specific_pm_nte_carve_out_area": nteArea, "nte_deficiency_for_pm_active_area": nteArea,
	},
	0x81: {
		"total_run_time_with_ei_aecd1": deviceTime, "total_run_time_with_ei_aecd2": deviceTime,
		"total_run_time_with_ei_aecd3": deviceTime, "total_run_time_with_ei_aecd4": deviceTime,
		"total_run_time_with_ei_aecd5": deviceTime,
	},
	0x82: {
		"total_run_time_with_ei_aecd6": deviceTime, "total_run_time_with_ei_aecd7": deviceTime,
		"total_run_time_with_ei_aecd8": deviceTime, "total_run_time_with_ei_aecd9": deviceTime,
		"total_run_time_with_ei_aecd10": deviceTime,
	},
	0x83: {"nox_sensor_concentration_bank1_sensor1": noxSensor, "nox_sensor_concentration_bank2_sensor1": noxSensor},
}

const (
	turboSpeed    = "editions differ: 1 rpm or 10 rpm a step; shown raw"
	deltaPressure = "offset of −327.68 or two's complement is in doubt, a difference of the whole range; left out"
	nteArea       = "heavy-duty emission area, of no use for this job; shown raw"
	deviceTime    = "editions differ: 21 or 41 bytes; shown raw"
	noxSensor     = "editions differ: 5 or 9 bytes; shown raw"
)

// notData are codes that are not data after SAE J1979 as published; Scapy has no such
// limits. The value is the highest that is data.
var notData = map[Signal]float64{
	"EOT":       210,                                                                 // published maximum
	"FUEL_RATE": 3212.75,                                                             // published maximum
	"OBDSUP":    250,                                                                 // 251 to 255 are not used
	"O2S_FT1":   98.4375, "O2S_FT2": 98.4375, "O2S_FT3": 98.4375, "O2S_FT4": 98.4375, // $FF: not used for the trim
	"O2S_FT5": 98.4375, "O2S_FT6": 98.4375, "O2S_FT7": 98.4375, "O2S_FT8": 98.4375,
}

// Scapy's pump current of a wide-range sensor begins at 0; published is u16/256 − 128 mA,
// −128 to 128, so that $8000 is no current.
const pumpOffset = -128

// Scapy's scales for lambda and for the voltage of a wide-range sensor are the figures that
// the standard prints, 0.0000305 for 2/65536 and 0.000122 for 8/65536: both too small by
// 0.058 %.
const printedScale = 6e-4
