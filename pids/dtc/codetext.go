package dtc

import (
	"strconv"
	"strings"
)

// Where the meaning of a code was read. The standard's own list (SAE J2012-DA) was not at
// hand; a row from memory is a label to be checked against it.
const (
	fromMisfire = "published description of misfire monitor codes"
	fromService = "published service information"
	fromList    = "published list of transmission codes"
	fromMemory  = "from memory, to be checked against SAE J2012-DA"
)

// codeRow is a run of codes of one meaning. "#" in the text is the place in the run, from
// 1; with kinds, each code of the run ends in the next of them.
type codeRow struct {
	first, last uint16
	text        string
	kinds       []string
	source      string
}

// Patterns in which SAE J2012 numbers the faults of one part.
var (
	sensorKinds   = []string{"circuit", "range or performance", "circuit low", "circuit high", "intermittent"}
	noSignalKinds = []string{"circuit", "range or performance", "no signal", "intermittent"}
	solenoidKinds = []string{"circuit", "performance or stuck off", "stuck on", "electrical", "intermittent"}
	lowHighKinds  = []string{"too low", "too high"}
	mixtureKinds  = []string{"too lean, bank 1", "too rich, bank 1", "too lean, bank 2", "too rich, bank 2"}
)

// Powertrain codes are their own number; body C0xx begin at 0x4000, network U0xxx at 0xC000.
var codeRows = []codeRow{
	{0x0011, 0x0012, "camshaft timing, bank 1 intake", []string{"over-advanced", "over-retarded"}, fromMemory},
	{0x0014, 0x0015, "camshaft timing, bank 1 exhaust", []string{"over-advanced", "over-retarded"}, fromMemory},
	{0x0016, 0x0019, "crankshaft and camshaft do not agree", nil, fromMemory},
	{0x0021, 0x0022, "camshaft timing, bank 2 intake", []string{"over-advanced", "over-retarded"}, fromMemory},
	{0x0024, 0x0025, "camshaft timing, bank 2 exhaust", []string{"over-advanced", "over-retarded"}, fromMemory},
	{0x0087, 0x0088, "fuel rail pressure", lowHighKinds, fromMemory},
	{0x0101, 0x0104, "air mass flow sensor", []string{"range or performance", "circuit low", "circuit high", "intermittent"}, fromMemory},
	{0x0106, 0x0109, "manifold or barometric pressure sensor", []string{"range or performance", "circuit low", "circuit high", "intermittent"}, fromMemory},
	{0x0121, 0x0124, "throttle or pedal sensor A", []string{"range or performance", "circuit low", "circuit high", "intermittent"}, fromMemory},
	{0x0128, 0x0128, "coolant stays below the thermostat's temperature", nil, fromMemory},
	{0x0171, 0x0172, "mixture, bank 1", []string{"too lean", "too rich"}, fromMemory},
	{0x0174, 0x0175, "mixture, bank 2", []string{"too lean", "too rich"}, fromMemory},
	{0x0201, 0x0212, "injector circuit, cylinder #", nil, fromMemory},
	{0x0218, 0x0218, "transmission over temperature", nil, fromService},
	{0x0219, 0x0219, "engine overspeed", nil, fromMemory},
	{0x0221, 0x0224, "throttle or pedal sensor B", []string{"range or performance", "circuit low", "circuit high", "intermittent"}, fromMemory},
	{0x0300, 0x0300, "misfire of several or undetermined cylinders", nil, fromMisfire},
	{0x0301, 0x0312, "misfire of cylinder #", nil, fromMisfire},
	{0x0313, 0x0313, "misfire while the fuel level is low", nil, fromMisfire + "; " + fromService},
	{0x0314, 0x0314, "misfire of a single cylinder, not named", nil, fromMemory + "; another source reads it as damaging the catalyst"},
	{0x0315, 0x0315, "crankshaft position variation not learnt", nil, fromMisfire},
	{0x0316, 0x0316, "misfire while starting", nil, fromMemory},
	{0x0317, 0x0319, "rough-road sensing", nil, fromMemory},
	{0x0320, 0x0323, "ignition or distributor speed input", nil, fromMemory},
	{0x0325, 0x0334, "knock sensor", nil, fromMemory},
	{0x0335, 0x0339, "crankshaft position sensor A", sensorKinds, fromMemory},
	{0x0340, 0x0349, "camshaft position sensor A", nil, fromMemory},
	{0x0350, 0x0362, "ignition coil, primary or secondary circuit", nil, fromMemory},
	{0x0363, 0x0363, "misfire, fuel to that cylinder cut off", nil, fromMemory},
	{0x0401, 0x0402, "exhaust gas recirculation flow", []string{"too small", "too large"}, fromMemory},
	{0x0420, 0x0420, "catalyst efficiency low, bank 1", nil, fromMemory},
	{0x0430, 0x0430, "catalyst efficiency low, bank 2", nil, fromMemory},
	{0x0500, 0x0503, "vehicle speed sensor A", nil, fromMemory},
	{0x0505, 0x0507, "idle control", []string{"system", "speed too low", "speed too high"}, fromMemory},
	{0x0562, 0x0563, "system voltage", lowHighKinds, fromMemory},
	{0x0571, 0x0571, "brake switch A circuit (braking releases the converter clutch)", nil, fromMemory},
	{0x0606, 0x0606, "engine control unit's processor", nil, fromMemory},
	{0x0700, 0x0700, "the transmission control unit asks for the lamp: read its own codes", nil, fromList},
	{0x0701, 0x0702, "transmission control", []string{"range or performance", "electrical"}, fromList},
	{0x0703, 0x0703, "brake switch B circuit (braking releases the converter clutch)", nil, fromList},
	{0x0705, 0x0709, "transmission range sensor A", sensorKinds, fromList},
	{0x0710, 0x0714, "transmission fluid temperature sensor A", sensorKinds, fromList},
	{0x0715, 0x0718, "input or turbine speed sensor A", noSignalKinds, fromList},
	{0x0719, 0x0719, "brake switch B circuit low", nil, fromList},
	{0x0720, 0x0723, "output speed sensor", noSignalKinds, fromList},
	{0x0724, 0x0724, "brake switch B circuit high", nil, fromList},
	{0x0725, 0x0728, "engine speed input to the transmission", noSignalKinds, fromList},
	{0x0729, 0x0729, "incorrect ratio in gear 6", nil, fromMemory},
	{0x0730, 0x0730, "incorrect gear ratio", nil, fromList},
	{0x0731, 0x0735, "incorrect ratio in gear #", nil, fromList},
	{0x0736, 0x0736, "incorrect ratio in reverse", nil, fromList},
	{0x0740, 0x0744, "converter clutch", []string{"solenoid circuit or open", "performance or stuck off (slips)", "stuck on", "electrical", "intermittent"}, fromMemory},
	{0x0745, 0x0749, "pressure control solenoid A", solenoidKinds, fromMemory},
	{0x0750, 0x0754, "shift solenoid A", solenoidKinds, fromMemory},
	{0x0755, 0x0759, "shift solenoid B", solenoidKinds, fromMemory},
	{0x0760, 0x0764, "shift solenoid C", solenoidKinds, fromMemory},
	{0x0765, 0x0769, "shift solenoid D", solenoidKinds, fromMemory},
	{0x0770, 0x0774, "shift solenoid E", solenoidKinds, fromMemory},
	{0x0775, 0x0779, "pressure control solenoid B", solenoidKinds, fromMemory},
	{0x0780, 0x0784, "shift error", []string{"", "1-2", "2-3", "3-4", "4-5"}, fromMemory},
	{0x0791, 0x0793, "intermediate shaft speed sensor", nil, fromMemory},
	{0x0795, 0x0799, "pressure control solenoid C", solenoidKinds, fromMemory},
	{0x0811, 0x0811, "excessive slip of clutch A", nil, fromMemory},
	{0x0841, 0x0844, "transmission fluid pressure sensor A", []string{"range or performance", "circuit low", "circuit high", "intermittent"}, fromMemory},
	{0x0863, 0x0863, "communication with the transmission control unit", nil, fromMemory},
	{0x0868, 0x0869, "transmission fluid pressure", lowHighKinds, fromMemory},
	{0x0894, 0x0894, "transmission component slipping", nil, fromMemory},
	{0x0897, 0x0897, "transmission fluid deteriorated", nil, fromMemory},
	{0x2096, 0x2099, "fuel trim behind the catalyst at its limit", mixtureKinds, fromMemory},
	{0x2122, 0x2123, "pedal sensor D circuit", []string{"low", "high"}, fromMemory},
	{0x2127, 0x2128, "pedal sensor E circuit", []string{"low", "high"}, fromMemory},
	{0x2135, 0x2135, "throttle sensors do not agree", nil, fromMemory},
	{0x2138, 0x2138, "pedal sensors do not agree", nil, fromMemory},
	{0x2187, 0x2190, "mixture at idle", mixtureKinds, fromMemory},
	{0x219A, 0x219B, "cylinders' mixtures differ, bank #", nil, fromMemory},
	{0x2279, 0x2279, "intake leak", nil, fromMemory},
	{0x2714, 0x2714, "pressure control solenoid D performance or stuck off", nil, fromMemory},
	{0x2723, 0x2723, "pressure control solenoid E performance or stuck off", nil, fromMemory},
	{0x2732, 0x2732, "pressure control solenoid F performance or stuck off", nil, fromMemory},
	{0x2756, 0x2756, "converter clutch pressure control solenoid", nil, fromMemory},
	{0x2757, 0x2757, "converter clutch pressure control solenoid performance or stuck off", nil, fromService},
	{0x2758, 0x2758, "converter clutch pressure control solenoid stuck on", nil, fromMemory},
	{0x2759, 0x2759, "converter clutch pressure control solenoid electrical", nil, fromMemory + "; one maker: performance"},
	{0x2760, 0x2760, "converter clutch pressure control solenoid intermittent", nil, fromMemory},
	{0x2761, 0x2761, "converter clutch pressure control solenoid circuit or open", nil, fromMemory},
	{0x2762, 0x2764, "converter clutch pressure control solenoid circuit", []string{"range or performance", "high", "low"}, fromService},
	{0x2769, 0x2770, "converter clutch circuit", []string{"low", "high"}, fromMemory},
	{0x2787, 0x2787, "clutch temperature too high", nil, fromMemory},

	{0x4035, 0x4035, "wheel speed sensor left front", nil, fromMemory},
	{0x4040, 0x4040, "wheel speed sensor right front", nil, fromMemory},
	{0x4045, 0x4045, "wheel speed sensor left rear", nil, fromMemory},
	{0x4050, 0x4050, "wheel speed sensor right rear", nil, fromMemory},

	{0xC001, 0xC001, "high-speed CAN bus", nil, fromMemory},
	{0xC002, 0xC002, "high-speed CAN bus performance", nil, fromMemory},
	{0xC073, 0xC073, "control module bus A off", nil, fromService},
	{0xC100, 0xC100, "lost communication with the engine control unit", nil, fromService},
	{0xC101, 0xC101, "lost communication with the transmission control unit", nil, fromService},
	{0xC102, 0xC102, "lost communication with the transfer case", nil, fromMemory},
	{0xC103, 0xC103, "lost communication with the gear shift module", nil, fromService},
	{0xC104, 0xC104, "lost communication with the cruise control module", nil, fromMemory},
	{0xC107, 0xC107, "lost communication with the throttle actuator module", nil, fromMemory},
	{0xC114, 0xC114, "lost communication with the four-wheel-drive clutch", nil, fromMemory},
	{0xC121, 0xC121, "lost communication with the anti-lock brakes", nil, fromService},
	{0xC122, 0xC122, "lost communication with the vehicle dynamics module", nil, fromMemory},
	{0xC126, 0xC126, "lost communication with the steering angle sensor", nil, fromService},
	{0xC129, 0xC129, "lost communication with the brake system module", nil, fromService},
	{0xC131, 0xC131, "lost communication with the power steering", nil, fromService},
	{0xC140, 0xC140, "lost communication with the body module", nil, fromService},
	{0xC146, 0xC146, "lost communication with the gateway", nil, fromMemory},
	{0xC151, 0xC151, "lost communication with the restraints", nil, fromService},
	{0xC155, 0xC155, "lost communication with the instrument cluster", nil, fromService},
	{0xC401, 0xC401, "invalid data from the engine control unit", nil, fromMemory},
	{0xC402, 0xC402, "invalid data from the transmission control unit", nil, fromMemory},
}

// meaning is a code's text with its source.
type meaning struct{ text, source string }

// codeText finds the meaning of a code by its two bytes. The trade numbers runs in decimal:
// P0310 follows P0309, so 0x0310 follows 0x0309.
func codeText(number uint16) (meaning, bool) {
	for i := range codeRows {
		r := &codeRows[i]
		if number < r.first || number > r.last {
			continue
		}
		place := decimal(number) - decimal(r.first)
		if r.last != r.first && (hexDigitIn(number) && !hexDigitIn(r.first)) {
			return meaning{}, false // P030A is between P0309 and P0310, and in no run
		}
		if hexDigitIn(r.first) {
			place = int(number - r.first)
		}
		return meaning{r.nth(place), r.source}, true
	}
	return meaning{}, false
}

// nth is the text of the code at a place in the run, from 0.
func (r *codeRow) nth(place int) string {
	if place < len(r.kinds) {
		if r.kinds[place] == "" {
			return r.text
		}
		return r.text + ": " + r.kinds[place]
	}
	return strings.Replace(r.text, "#", strconv.Itoa(place+1), 1)
}

// decimal reads the last two hex digits as decimal ones; no run of codes crosses a hundred.
func decimal(n uint16) int { return int(n>>4&0xF)*10 + int(n&0xF) }

// hexDigitIn reports whether one of the last two digits is a letter.
func hexDigitIn(n uint16) bool { return n&0xF > 9 || n>>4&0xF > 9 }
