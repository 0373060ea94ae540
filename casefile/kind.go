package casefile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"image"
	_ "image/gif"  // so that DecodeConfig knows it
	_ "image/jpeg" // so that DecodeConfig knows it
	_ "image/png"  // so that DecodeConfig knows it
	"io"
	"path"
	"slices"
	"strings"

	"github.com/judder-obd/judder/session"
)

// Kind is what a file of a case is.
type Kind string

// The kinds.
const (
	Drive     Kind = "drive"   // a recording
	Marks     Kind = "marks"   // made at the bench, beside their recording
	Replies   Kind = "replies" // raw replies of a code check
	CodeCheck Kind = "check"   // a kept code check
	Photo     Kind = "photo"
	Paper     Kind = "paper" // anything else
)

// fileFolders are where files of a case may lie.
var fileFolders = []string{"drives", "checks", "photos", "papers"}

// folders is where the files of a kind are put; a code check made in a drive stays beside it.
var folders = map[Kind]string{Drive: "drives", Marks: "drives", Replies: "checks", CodeCheck: "checks", Photo: "photos", Paper: "papers"}

// small is where the copies of photos for the report are kept.
const small = "photos/small"

// photoEndings are names that promise a photo.
var photoEndings = []string{".jpg", ".jpeg", ".png", ".gif"}

// foreignPhotos are kinds of photos that cannot be read here.
var foreignPhotos = []string{".heic", ".heif", ".webp", ".avif", ".tif", ".tiff", ".bmp", ".dng", ".raw"}

// Errors of what is added.
var (
	ErrNoPhoto      = errors.New("is no photo that can be read, though its name says so; give a JPEG, PNG or GIF")
	ErrForeignPhoto = errors.New("is a kind of photo that judder does not read; save it as JPEG, or set the camera to JPEG")
)

// kindOf looks at what a file holds; its name only says what it should be. r is at the start of the
// file.
func kindOf(name string, r io.Reader) (Kind, error) {
	ending := strings.ToLower(path.Ext(name))
	if slices.Contains(foreignPhotos, ending) {
		return "", ErrForeignPhoto
	}
	if ending == session.BesideEnd {
		return Marks, nil
	}
	b := bufio.NewReader(r)
	head, _ := b.Peek(512)
	switch {
	case bytes.HasPrefix(head, []byte(`{"k":"header"`)):
		if bytes.Contains(firstLine(head), []byte(`"asked":"code check"`)) {
			return Replies, nil
		}
		return Drive, nil
	case ending == ".json" && bytes.Contains(head, []byte(`"time"`)):
		return CodeCheck, nil
	}
	if _, _, err := image.DecodeConfig(b); err == nil {
		return Photo, nil
	}
	if slices.Contains(photoEndings, ending) {
		return "", ErrNoPhoto
	}
	return Paper, nil
}

func firstLine(b []byte) []byte {
	line, _, _ := bytes.Cut(b, []byte("\n"))
	return line
}

// mostBytes is how large a file of a kind may be; larger ones are refused. Our own choice.
var mostBytes = map[Kind]int64{Drive: 4 << 30, Marks: 16 << 20, Replies: 1 << 30, CodeCheck: 64 << 20, Photo: 128 << 20, Paper: 256 << 20}

func tooLarge(kind Kind, size int64) error {
	if most := mostBytes[kind]; size > most {
		return fmt.Errorf("has %d MB; a %s of a case may have %d MB", size>>20, kind, most>>20)
	}
	return nil
}
