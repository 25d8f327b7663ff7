import { PageHeading } from "@/app/_components/page-heading";
import { requireViewer } from "@/app/_lib/viewer";

export default async function TodayPage() {
  const viewer = await requireViewer();
  return <PageHeading title="Today" question={`What needs you, ${viewer.name}?`} />;
}
