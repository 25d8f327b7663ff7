"use client";

import { useRouter } from "next/navigation";
import { useId, useState } from "react";
import { shrinkPhoto } from "@/app/_lib/shrink-photo";
import type { SurveyItem } from "@/lib/core/heaters/readiness";
import type { CalendarDay } from "@/lib/core/shared/calendar-day";
import { MOST_SURVEY_PHOTO_BYTES } from "@/lib/services/survey-form";

/** Takes a picture with the camera or from the phone, makes it small and sends it at once. */
export function PhotoTaker({
  heaterId,
  item,
  today,
  label = "Add a photo",
}: {
  readonly heaterId: string;
  readonly item: SurveyItem | null;
  readonly today: CalendarDay;
  readonly label?: string;
}) {
  const id = useId();
  const router = useRouter();
  const [state, setState] = useState<"idle" | "sending" | "sent">("idle");
  const [problem, setProblem] = useState<string | null>(null);
  /** Kept for another try: the same picture under the same id counts once. */
  const [waiting, setWaiting] = useState<{ id: string; blob: Blob } | null>(null);

  const send = async (photo: { id: string; blob: Blob }) => {
    setState("sending");
    setProblem(null);
    setWaiting(photo);
    const search = new URLSearchParams({ id: photo.id, takenOn: today });
    if (item) search.set("item", item);
    try {
      const response = await fetch(`/sites/heaters/${heaterId}/photos?${search}`, {
        method: "POST",
        headers: { "content-type": "image/jpeg" },
        body: photo.blob,
      });
      const { message } = (await response.json()) as { message: string };
      if (!response.ok) throw new Error(message);
      setWaiting(null);
      setState("sent");
      router.refresh();
    } catch (error) {
      setState("idle");
      setProblem(
        error instanceof TypeError
          ? "No signal: the picture is kept here until you try again."
          : (error as Error).message,
      );
    }
  };

  const take = async (file: File | undefined) => {
    if (!file) return;
    setProblem(null);
    try {
      await send({
        id: crypto.randomUUID(),
        blob: await shrinkPhoto(file, MOST_SURVEY_PHOTO_BYTES),
      });
    } catch (error) {
      setProblem((error as Error).message);
    }
  };

  return (
    <div>
      <label className="button" htmlFor={id}>
        {state === "sending" ? "Sending …" : label}
      </label>
      <input
        id={id}
        className="visually-hidden"
        type="file"
        accept="image/*"
        capture="environment"
        disabled={state === "sending"}
        onChange={(event) => {
          void take(event.target.files?.[0]);
          event.target.value = "";
        }}
      />{" "}
      {waiting && problem && (
        <button className="button" type="button" onClick={() => void send(waiting)}>
          Try again
        </button>
      )}{" "}
      <span className="small" role="status">
        {state === "sent" ? "Kept." : ""}
      </span>
      {problem && (
        <p className="field__problem" role="alert">
          {problem}
        </p>
      )}
    </div>
  );
}
