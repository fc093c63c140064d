package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// describePhotos registers what reads photos. They are sent in by a page, a
// phone or pinset photo add.
func (s *service) describePhotos(to huma.API) {
	get(to, "/batches/{batch}/photos", "list-photos-of-batch", "Photos of the jars of a batch, the latest first, a page at a time", s.photosOfBatch)
	get(to, "/jars/{jar}/photos", "list-photos-of-jar", "Photos of one jar, the latest first, a page at a time", s.photosOfJar)
	get(to, "/photos/{photo}", "get-photo", "What is known of one photo", s.photo)
	s.describePicture(to)
}

// photo is what is known of a photo.
type photo struct {
	Photo  string  `json:"photo" doc:"its id; a correction gives it another"`
	Jar    string  `json:"jar" doc:"such as B12·3"`
	Code   string  `json:"code" doc:"on the label of the jar"`
	Arm    string  `json:"arm" doc:"empty while the key of a blind trial is closed"`
	At     *string `json:"at" doc:"when it was taken"`
	Camera string  `json:"camera" doc:"what the clock of the camera said, which may be wrong"`
	By     string  `json:"by"`
	Age    *int    `json:"age_days" doc:"of the jar; null where it is not known"`
	Since  string  `json:"age_since" doc:"inoculation or filling"`
	Width  int     `json:"width_px" doc:"of the whole size"`
	Height int     `json:"height_px"`
	Note   string  `json:"note"`
	Hash   string  `json:"sha256" doc:"of the whole size"`
}

func viewPhoto(p app.PhotoRow) photo {
	v := photo{
		Photo: string(p.ID), Jar: p.Name, Code: string(p.Code), Arm: p.Arm, At: when(p.At), Camera: p.Taken, By: p.By, Since: p.Since,
		Width: p.Width, Height: p.Height, Note: p.Note, Hash: p.Whole,
	}
	if p.Since != "" {
		v.Age = &p.Age
	}
	return v
}

// AfterPhoto asks for what is behind a photo.
type AfterPhoto struct {
	After string `query:"after" doc:"a photo: those that are older only"`
}

type photosOfBatch struct {
	OfBatch
	AfterPhoto
}

type photosOfJar struct {
	Jar string `path:"jar" doc:"code, or batch and number such as B12.3"`
	AfterPhoto
}

func (s *service) photosOfBatch(ctx context.Context, in *photosOfBatch) (list[photo], error) {
	return pageOfPhotos(s.farm.PhotosOfBatch(ctx, in.Batch, lab.EntryID(in.After), 0))
}

func (s *service) photosOfJar(ctx context.Context, in *photosOfJar) (list[photo], error) {
	return pageOfPhotos(s.farm.PhotosOfJar(ctx, in.Jar, lab.EntryID(in.After), 0))
}

func pageOfPhotos(p app.PhotoPage, err error) (list[photo], error) {
	if err != nil {
		return list[photo]{}, err
	}
	var out []photo
	for _, row := range p.Photos {
		out = append(out, viewPhoto(row))
	}
	page := whole(out)
	if p.More != "" {
		next := string(p.More)
		page.Next = &next
	}
	return page, nil
}

// OfPhoto names a photo in a path.
type OfPhoto struct {
	Photo string `path:"photo" doc:"its id, as a list gives it"`
}

func (s *service) photo(ctx context.Context, in *OfPhoto) (photo, error) {
	v, err := s.farm.Photo(ctx, lab.EntryID(in.Photo))
	if err != nil {
		return photo{}, err
	}
	return viewPhoto(v.PhotoRow), nil
}

type ofPicture struct {
	OfPhoto
	Size string `query:"size" enum:"whole,middle,small" default:"whole" doc:"2560, 960 or 240 pixels at the longer side at most"`
}

// picture is a JPEG.
type picture struct {
	Type string `header:"Content-Type"`
	Body []byte
}

func (s *service) describePicture(to huma.API) {
	const jpeg = "image/jpeg"
	huma.Register(to, huma.Operation{
		OperationID: "get-picture", Method: http.MethodGet, Path: Prefix + "/photos/{photo}/picture", Summary: "The picture of a photo, upright, as JPEG",
		Errors: []int{http.StatusBadRequest, http.StatusUnauthorized, http.StatusNotFound},
		Responses: map[string]*huma.Response{"200": {
			Description: "The picture", Content: map[string]*huma.MediaType{jpeg: {Schema: &huma.Schema{Type: "string", Format: "binary"}}},
		}},
	}, func(ctx context.Context, in *ofPicture) (*picture, error) {
		v, err := s.farm.Photo(ctx, lab.EntryID(in.Photo))
		if err != nil {
			return nil, problem(err)
		}
		name := map[string]string{"whole": v.Whole, "middle": v.Middle, "small": v.Small}[in.Size]
		data, err := s.farm.PhotoFile(ctx, v.ID, name)
		if err != nil {
			return nil, problem(err)
		}
		return &picture{jpeg, data}, nil
	})
}
