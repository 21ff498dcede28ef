"""Speakers, rooms, microphones, noises and levels, drawn anew for each batch, on the GPU.

Sound is (batch, samples) in floats at int16's scale. Noise is drawn from curves of our own: rumble that falls by a
random slope above a random corner, wind, hum and hiss in random shares, sometimes with a blower's band, ticks,
notes or other talk. What the figures are reported on (`speechkit.noise`) is one curve that is not among these.
"""

from __future__ import annotations

import math

import torch
from torch import Tensor

from call_model.bands import RATE_HZ

_VOICE_BAND_HZ = (300.0, 3400.0)
_FLOOR_RMS = (0.3, 12.0)


def lasting(sound: Tensor, samples: int) -> Tensor:
    """Return sound played so that it lasts so many samples (even), pitch and vocal tract with it.

    By cutting or lengthening its spectrum.
    """
    count = sound.shape[1]
    spectrum = torch.fft.rfft(sound)
    bins = samples // 2 + 1
    if bins <= spectrum.shape[1]:
        kept = spectrum[:, :bins]
    else:
        kept = torch.nn.functional.pad(spectrum, (0, bins - spectrum.shape[1]))
    return torch.fft.irfft(kept, samples) * (samples / count)


class Cabin:
    """Puts speech into a car, differently each time."""

    def __init__(self, seed: int, device: torch.device) -> None:
        self._random = torch.Generator(device=device).manual_seed(seed)
        self._device = device

    def of(self, speech: Tensor) -> Tensor:
        """Return the speech as a microphone in a car gives it: int16 values as floats, same shape."""
        count, samples = speech.shape
        size = 1 << (samples + RATE_HZ // 2 - 1).bit_length()
        spectrum = torch.fft.rfft(speech, size)
        hertz = torch.fft.rfftfreq(size, 1 / RATE_HZ, device=self._device)
        spectrum = spectrum * self._microphone(count, hertz) * self._room(count, size)
        in_band = ((hertz >= _VOICE_BAND_HZ[0]) & (hertz <= _VOICE_BAND_HZ[1])).float()
        talking = self._talking(speech)
        heard = torch.fft.irfft(spectrum, size)[:, :samples]
        strength = (spectrum.abs() ** 2 * in_band).sum(1) / (samples * talking)
        noise = self._noise(count, size, hertz)
        noise = self._add_tones(noise, size)
        weight = (noise.abs() ** 2 * in_band).sum(1) / size
        background = torch.fft.irfft(noise, size)[:, :samples] * self._drift(count, samples)
        # A figure in the voice's band; most car noise lies below it, so broadband figures are 5 to 12 dB lower.
        ratio_db = self._uniform(count, -4.0, 32.0)
        gain = (strength / weight * 10 ** (-ratio_db / 10)).sqrt()
        silent = self._draw(count) < 0.12
        background = background * torch.where(silent, 0.0, gain)[:, None]
        heard = heard + background + self._other_talk(heard)
        heard = heard * 10 ** (self._normal(count, 1) * 7.0 / 20).clamp(0.08, 3.0)
        floor = torch.exp(self._uniform(count, math.log(_FLOOR_RMS[0]), math.log(_FLOOR_RMS[1])))
        floor = torch.where(self._draw(count) < 0.1, 0.0, floor)
        heard = heard + floor[:, None] * self._normal(count, samples)
        return heard.round().clamp(-32768, 32767)

    def _draw(self, *shape: int) -> Tensor:
        return torch.rand(shape, generator=self._random, device=self._device)

    def _uniform(self, count: int, low: float, high: float) -> Tensor:
        return low + (high - low) * self._draw(count)

    def _normal(self, *shape: int) -> Tensor:
        return torch.randn(shape, generator=self._random, device=self._device)

    def _talking(self, speech: Tensor) -> Tensor:
        """Return the share of the sound in which somebody speaks, shape (batch,)."""
        frames = speech.unfold(1, 320, 320).square().mean(2)
        return ((frames > 0.03 * frames.mean(1, keepdim=True)).float().mean(1)).clamp_min(0.05)

    def _microphone(self, count: int, hertz: Tensor) -> Tensor:
        """Return gains: a smooth curve, and now and then a band as narrow as a telephone's."""
        octaves = torch.log2(hertz.clamp_min(30.0) / 30.0)[None, :] / 8.0
        curve = torch.zeros(count, len(hertz), device=self._device)
        for wave in range(1, 5):
            curve += (
                self._normal(count, 1)
                * (4.0 / math.sqrt(wave))
                * torch.cos(math.pi * wave * octaves + 2 * math.pi * self._draw(count, 1))
            )
        gains = 10 ** (curve / 20)
        low = torch.where(self._draw(count, 1) < 0.5, 0.0, 60.0 + 240.0 * self._draw(count, 1))
        high = torch.where(self._draw(count, 1) < 0.75, 9000.0, 3300.0 + 4500.0 * self._draw(count, 1))
        steep = torch.sigmoid((hertz - low) / 25.0) * torch.sigmoid((high - hertz) / 120.0)
        return gains * torch.where(low > 0, steep, torch.sigmoid((high - hertz) / 120.0))

    def _room(self, count: int, size: int) -> Tensor:
        """Return spectra of decaying echoes, as between seats and glass; half of the sounds have none."""
        length = RATE_HZ // 4
        at_s = torch.arange(length, device=self._device) / RATE_HZ
        decay_s = self._uniform(count, 0.01, 0.05)[:, None]
        echoes = self._normal(count, length) * torch.exp(-at_s / decay_s)
        echoes = echoes / echoes.norm(dim=1, keepdim=True)
        share = 10 ** (self._uniform(count, -20.0, 0.0) / 20) * (self._draw(count) < 0.5)
        echoes = echoes * share[:, None]
        echoes[:, 0] += 1.0
        return torch.fft.rfft(echoes, size)

    def _noise(self, count: int, size: int, hertz: Tensor) -> Tensor:
        """Return spectra of steady noise."""
        above = hertz.clamp_min(20.0)[None, :]
        part = lambda low, high: 10 ** (self._uniform(count, low, high) / 20)[:, None]  # noqa: E731
        corner = torch.exp(self._uniform(count, math.log(40.0), math.log(400.0)))[:, None]
        slope = self._uniform(count, 0.8, 2.0)[:, None]
        rumble = (corner / torch.maximum(above, corner)) ** slope
        gust = torch.exp(self._uniform(count, math.log(200.0), math.log(1500.0)))[:, None]
        wind = part(-40.0, 0.0) * gust / torch.maximum(above, gust)
        hiss = part(-60.0, -15.0)
        middle = torch.exp(self._uniform(count, math.log(120.0), math.log(3000.0)))[:, None]
        hum = part(-40.0, 0.0) * torch.exp(-0.5 * ((above - middle) / (0.12 * middle)) ** 2)
        amplitude = (rumble**2 + wind**2 + hiss**2 + hum**2).sqrt()
        # Some noise is hiss alone: rain, an open window, a bad preamplifier.
        flat = (100.0 / above.clamp_min(100.0)) ** (0.5 * self._draw(count, 1))
        amplitude = torch.where(self._draw(count, 1) < 0.15, flat, amplitude)
        return torch.fft.rfft(self._normal(count, size)) * amplitude

    def _add_tones(self, noise: Tensor, size: int) -> Tensor:
        """Return the noise, some of it with notes or with the ticks of an indicator on it."""
        count = len(noise)
        at_s = torch.arange(size, device=self._device) / RATE_HZ
        power = noise.abs().square().mean(1, keepdim=True).sqrt() / math.sqrt(size)
        tones = torch.zeros(count, size, device=self._device)
        step = (at_s * 3.0).long()
        for _ in range(3):
            notes = torch.exp(math.log(110.0) + math.log(12.0) * self._draw(count, int(step[-1]) + 1))
            phase = 2 * math.pi * torch.cumsum(notes[:, step] / RATE_HZ, dim=1)
            tones += torch.sin(phase) + 0.5 * torch.sin(2 * phase) + 0.3 * torch.sin(3 * phase)
        tones = tones * (self._draw(count, 1) < 0.12) * (0.2 + self._draw(count, 1))
        every_s = self._uniform(count, 0.3, 0.45)[:, None]
        since = torch.remainder(at_s[None, :] + self._draw(count, 1), every_s)
        ticks = self._normal(count, size) * torch.exp(-since / 0.004)
        ticks = ticks * (self._draw(count, 1) < 0.1) * (1.0 + 6.0 * self._draw(count, 1))
        return noise + torch.fft.rfft((tones + ticks) * power)

    def _drift(self, count: int, samples: int) -> Tensor:
        """Return slow changes of level."""
        knots = self._normal(count, 1, samples // (2 * RATE_HZ) + 2) * 2.0
        level_db = torch.nn.functional.interpolate(knots, samples, mode="linear", align_corners=True)
        return 10 ** (level_db[:, 0] / 20)

    def _other_talk(self, heard: Tensor) -> Tensor:
        """Return others of the batch talking more quietly behind some."""
        count = len(heard)
        behind = heard.roll(1, 0).roll(int(self._draw(1).item() * heard.shape[1]), 1)
        share = 10 ** (self._uniform(count, -30.0, -8.0) / 20) * (self._draw(count) < 0.12)
        return behind * share[:, None]
