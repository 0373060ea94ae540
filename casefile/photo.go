package casefile

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"io"

	"golang.org/x/image/draw"
)

// Limits of a photo. A picture takes up to eight bytes a pixel in memory before anything of it is
// seen, so its size is read first. Our own choice: the phones of today make up to 50 megapixels
// unless they are told to make more.
const (
	mostPixels  = 64e6
	smallSide   = 1000 // pixels, the longer side of the copy for the report
	smallAsJPEG = 72   // quality; readable on paper at 10 cm
)

// PictureError is a picture that is too large to open.
type PictureError struct{ Width, Height int }

func (e *PictureError) Error() string {
	return fmt.Sprintf("is a picture of %d x %d, %d megapixels; %.0f at most: make it smaller first", e.Width, e.Height, e.Width*e.Height/1e6, mostPixels/1e6)
}

// Shrink makes the copy of a photo that a report shows: at most 1000 pixels wide or high, upright,
// as JPEG, without place, time and device, which the photo may hold. A picture that is too large
// is refused before it is opened: the error is a *PictureError.
func Shrink(photo []byte) ([]byte, error) {
	config, _, err := image.DecodeConfig(bytes.NewReader(photo))
	if err != nil {
		return nil, ErrNoPhoto
	}
	if w, h := config.Width, config.Height; w <= 0 || h <= 0 || int64(w)*int64(h) > mostPixels {
		return nil, &PictureError{w, h}
	}
	whole, _, err := image.Decode(bytes.NewReader(photo))
	if err != nil {
		return nil, fmt.Errorf("is a damaged photo: %w", err)
	}
	scaled := scale(whole)
	var out bytes.Buffer
	err = jpeg.Encode(&out, upright(scaled, orientation(photo)), &jpeg.Options{Quality: smallAsJPEG})
	return out.Bytes(), err
}

// scale makes a picture small, on white where it is transparent.
func scale(whole image.Image) *image.RGBA {
	w, h := whole.Bounds().Dx(), whole.Bounds().Dy()
	if longer := max(w, h); longer > smallSide {
		w, h = max(w*smallSide/longer, 1), max(h*smallSide/longer, 1)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.BiLinear.Scale(out, out.Bounds(), whole, whole.Bounds(), draw.Over, nil)
	return out
}

// bare reports whether a JPEG file holds a picture alone: no segment of an application and no
// comment, in which cameras keep place, time and device.
func bare(photo []byte) bool {
	s := segments{rest: photo}
	for s.next() {
		if s.marker >= 0xE0 && s.marker <= 0xEF || s.marker == 0xFE {
			return false
		}
	}
	return errors.Is(s.err, io.EOF)
}
