package drivetrain

import "sort"

// The torque converter, from the public national-laboratory vehicle model (transmission
// file TX_AUTO4_IDEAL): torque ratio and K factor, rpm/√Nm, over the speed ratio.
var (
	convSpeedRatio  = []float64{0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.85, 0.90, 0.95, 1}
	convTorqueRatio = []float64{2.00, 1.77, 1.55, 1.32, 1.21, 1.10, 1.04, 1.00, 1.00, 1.00}
	convK           = []float64{144, 149, 157, 172, 183, 197, 211, 227, 304, 1200} // the last: as good as infinite
)

const stallK = 144 // rpm/√Nm with the turbine at rest

// convKR is speed ratio × K, which a turbine speed and a torque give directly.
var convKR = func() []float64 {
	list := make([]float64, len(convK))
	for i := range list {
		list[i] = convSpeedRatio[i] * convK[i]
	}
	return list
}()

// along interpolates ys over rising xs, held at the ends.
func along(xs, ys []float64, x float64) float64 {
	i := sort.SearchFloat64s(xs, x)
	if i == 0 {
		return ys[0]
	}
	if i == len(xs) {
		return ys[len(ys)-1]
	}
	return mix(ys[i-1], ys[i], (x-xs[i-1])/(xs[i]-xs[i-1]))
}

// ConverterTorqueRatio returns turbine torque over pump torque at a speed ratio.
func ConverterTorqueRatio(speedRatio float64) float64 {
	return along(convSpeedRatio, convTorqueRatio, speedRatio)
}

// ConverterK returns the K factor at a speed ratio, in rpm/√Nm.
func ConverterK(speedRatio float64) float64 {
	return along(convSpeedRatio, convK, speedRatio)
}
